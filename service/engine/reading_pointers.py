"""Where the request would state a reading that the engine names."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from service.engine.layouts import LAYOUTS, LayoutTraits

SPRING = {
    "wire": "wire_mm", "total_coils": "total_coils", "active_coils": "active_coils",
    "mean_diameter": "mean_diameter_mm", "shear_modulus": "shear_modulus_mpa",
    "free_length": "free_length_mm",
    "measured_solid": "solid_length_mm",
    "tensile_strength": "tensile_strength_mpa", "force_scale": "rate_n_per_mm",
}  # fmt: skip
LEAVES = {"leaf_rate": "rate_n_per_mm", "leaf_max_deflection": "max_deflection_mm", "free_length": "free_camber_mm"}
DAMPER = {
    "extended": "extended_length_mm",
    "closed": "closed_length_mm",
    "gas_force": "gas_force_n",
    "seat_offset": "seat_offset_mm",
}
BAR = {
    "bar_diameter": "diameter_mm", "bar_length": "active_length_mm", "arm_length": "arm_length_mm",
    "bar_modulus": "shear_modulus_mpa", "bar_permissible": "permissible_stress_mpa",
    "adjusted_ride": "adjusted_ride_arch_to_hub_mm",
}  # fmt: skip
PART_OF: dict[str, tuple[str, str, dict[str, str]]] = {
    "coil": ("spring", "coil_spring", SPRING),
    "leaf": ("leaf_pack", "leaf_pack", LEAVES),
    "torsion_bar": ("torsion_bar", "torsion_bar", BAR),
}
OTHERS = {
    "stop_free": ("bump_stop", "bump_stop", "free_height_mm"),
    "stop_crushed": ("bump_stop", "bump_stop", "crushed_height_mm"),
    "block": ("leaf_block", "leaf_block", "height_mm"),
    "shackle_length": ("shackle", "shackle", "length_mm"),
    "tyre_diameter": ("tyre", "tyre", "overall_diameter_mm"),
    "tyre_width": ("tyre", "tyre", "section_width_mm"),
}
PROPOSED = {
    "top_spacer": "/parts/strut_top_spacer/thickness_mm",
    "spring_spacer": "/parts/spring_spacer/thickness_mm",
    "stop_spacer": "/parts/bump_stop_spacer/thickness_mm",
    "differential_drop": "/parts/differential_spacer/drop_mm",
    "strap": "/parts/limit_strap/max_arch_to_hub_mm",
    "added_axle_kg": "/load",
    "added_gross_kg": "/load",
    "target_lift": "/target_lift_mm",
    "motion_ratio": "/axle/travel/motion_ratio",
    "bump_stop_ratio": "/axle/travel/bump_stop_ratio",
    "beyond_bump": "the travel beyond the stations towards bump",
    "beyond_droop": "the travel beyond the stations towards droop",
    "droop_doubt": "what lies between the extended length and the droop as taped",
    "crush_share": "/axle/fitted/bump_stop/crushed_height_mm",
    "arm_angle": "/axle/arm_angle_at_ride_deg",
    "spring_base": "/axle/spring_base_mm",
    "track": "/axle/track_mm",
    "unsprung_kg": "/axle/unsprung_kg_per_wheel",
    "front_and_rear_kg": "/axle/vehicle_masses",
    "gross_rating_kg": "/axle/vehicle_masses/gross_rating_kg",
    "rack_travel": "/axle/travel/hard_points/rack_travel_mm",
}


class Readings(NamedTuple):
    """The names of some readings, of which the first ``own`` are those of an axle."""

    names: tuple[str, ...]
    own: int
    layout: str
    end: str


@lru_cache(1024)
def pointers_of(readings: Readings, *, by_table: bool) -> tuple[str, ...]:
    """Where the request would state each of some readings; ``by_table`` says that the build's spring has a force table.

    >>> pointers_of(Readings(("wire", "wire"), 1, "macpherson", "front"), by_table=False)
    ('/axle/fitted/spring/wire_mm', '/parts/coil_spring/wire_mm')
    """
    traits = LAYOUTS[readings.layout]
    return tuple(
        _pointer_of(name, traits, readings.end, own_reading=place < readings.own, by_table=by_table)
        for place, name in enumerate(readings.names)
    )


def _pointer_of(reading: str, traits: LayoutTraits, end: str, *, own_reading: bool, by_table: bool) -> str:
    if reading.startswith("/"):
        return f"/axle{reading}"
    if reading.startswith("arm_ball_joint/"):
        return f"/parts/upper_arm/ball_joint_mm/{reading[-1]}"
    if reading in PROPOSED:
        return PROPOSED[reading]
    part = _part_of(reading, traits, by_table=by_table)
    if part is not None:
        slot, kind, name = part
        return f"/axle/fitted/{slot}/{name}" if own_reading else f"/parts/{kind}/{name}"
    return _of_limit_or_mass(reading, end, own_reading=own_reading)


def _part_of(reading: str, traits: LayoutTraits, *, by_table: bool) -> tuple[str, str, str] | None:
    """Slot under ``fitted``, kind and field of a part's reading; none of anything else."""
    slot, kind, fields = PART_OF[traits.spring]
    if reading == "force_scale" and by_table:
        return slot, kind, "force_table"
    if reading in fields:
        return slot, kind, fields[reading]
    damper = "strut" if traits.strut else "damper"
    if reading in DAMPER:
        return damper, damper, DAMPER[reading]
    return OTHERS.get(reading)


BY_A_PART = {
    "limit_upper_ball_joint": "/parts/upper_arm/ball_joint_reached_at_arch_to_hub_mm",
    "angle_limit_upper_ball_joint": "/parts/upper_arm/ball_joint_max_angle_deg",
    "limit_inner_cv": "/parts/differential_spacer/inner_cv_reached_at_arch_to_hub_mm",
    "limit_brake_hose": "/parts/brake_hose/reached_at_arch_to_hub_mm",
    "limit_shackle": "/parts/shackle/reached_at_arch_to_hub_mm",
}
LIMITS = {
    "bump_limit_": "reached_in_bump_at_arch_to_hub_mm",
    "angle_limit_": "max_angle_deg",
    "plunge_limit_": "max_plunge_mm",
    "neutral_": "neutral_arch_to_hub_mm",
    "limit_": "reached_at_arch_to_hub_mm",
}


def _of_limit_or_mass(reading: str, end: str, *, own_reading: bool) -> str:
    if not own_reading and reading in BY_A_PART:
        return BY_A_PART[reading]
    for prefix, name in LIMITS.items():
        if reading.startswith(prefix):
            return f"/axle/limits/{reading.removeprefix(prefix)}/{name}"
    return f"/axle/vehicle_masses/{end}_{reading}"
