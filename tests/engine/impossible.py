"""One whole part of every kind, and what each of its numbers, or an axle's, can never be."""

from math import inf, nan

from known_readings import readings_in
from reference_axles import part_of

from service.engine import Reading
from service.engine.parts import (
    Accessory,
    BrakeHose,
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    Damper,
    DifferentialSpacer,
    LeafBlock,
    LeafPack,
    LimitStrap,
    Shackle,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    TorsionBar,
    Tyre,
    UpperArm,
)

WHOLE = {
    "coil_spring": part_of(
        CoilSpring, wire_mm=14, total_coils=9, free_length_mm=380, rate_n_per_mm=60, active_coils=7,
        mean_diameter_mm=120, ends="closed_ground", forming="cold", solid_length_mm=128,
        wire_tolerance_mm=0.1, shear_modulus_mpa=78_500, tensile_strength_mpa=1700,
    ),
    "strut": part_of(Strut, extended_length_mm=540, closed_length_mm=390, seat_offset_mm=220, gas_force_n=200),
    "damper": part_of(Damper, extended_length_mm=540, closed_length_mm=390, gas_force_n=200),
    "bump_stop": part_of(BumpStop, free_height_mm=60, crushed_height_mm=28),
    "upper_arm": part_of(UpperArm, ball_joint_max_angle_deg=32, ball_joint_reached_at_arch_to_hub_mm=650),
    "differential_spacer": part_of(DifferentialSpacer, drop_mm=25, inner_cv_reached_at_arch_to_hub_mm=655),
    "limit_strap": part_of(LimitStrap, max_arch_to_hub_mm=640),
    "brake_hose": part_of(BrakeHose, reached_at_arch_to_hub_mm=670),
    "accessory": part_of(Accessory, mass_kg=80, behind_front_axle_mm=-600),
    "torsion_bar": part_of(
        TorsionBar, diameter_mm=28, active_length_mm=1200, arm_length_mm=380, shear_modulus_mpa=78_500,
        permissible_stress_mpa=800, adjusted_ride_arch_to_hub_mm=540,
    ),
    "leaf_pack": part_of(LeafPack, rate_n_per_mm=38, free_camber_mm=150, max_deflection_mm=260),
    "leaf_block": part_of(LeafBlock, height_mm=40),
    "shackle": part_of(Shackle, length_mm=110, reached_at_arch_to_hub_mm=690),
    "tyre": part_of(Tyre, overall_diameter_mm=790, section_width_mm=255),
} | {
    kind.kind: part_of(kind, thickness_mm=12) for kind in (StrutTopSpacer, SpringSpacer, BumpStopSpacer)
}  # fmt: skip

NEVER = (nan, inf, -inf, 1e308, -1e308)
MAY_BE_ZERO = {
    "gas_force_n",
    "wire_tolerance_mm",
    "seat_offset_mm",
    "behind_front_axle_mm",
    "occupants_kg",
    "target_lift_mm",
    "free_camber_mm",
}
"""No gas in a damper, wire that never varies, a seat level with the mount, a mass over the axle, nobody on board."""
MAY_BE_NEGATIVE = {"seat_offset_mm", "behind_front_axle_mm", "target_lift_mm", "free_camber_mm"}


def impossible(field: str) -> tuple[float, ...]:
    zero = () if field in MAY_BE_ZERO else (0.0,)
    negative = () if field in MAY_BE_NEGATIVE else (-1.0,)
    return (*NEVER, *zero, *negative)


def bad_readings(holder, prefix=""):
    """Pointer and impossible datum of every number below ``holder``."""
    for pointer, stated in readings_in(holder, prefix):
        if isinstance(stated, Reading | float):
            for value in impossible(pointer.rsplit("/", 1)[-1]):
                yield pointer, Reading(value) if isinstance(stated, Reading) else value


def plain(detail: str) -> bool:
    """Plain words that end: no name of a field, no piece of code."""
    return len(detail) > 20 and detail.endswith(".") and "_" not in detail and "None" not in detail
