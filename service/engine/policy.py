"""The figures that are a decision and not a measurement: reserves, priors, default half-widths; versioned.

No figure here is normative. Each line says where it comes from; "common practice" is the trade's and has no
published source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from service.engine.reading import Reading

TAPED = MappingProxyType(
    {
        "arch_to_hub_mm": 2.0,
        "seat_gap_mm": 2.0,
        "damper_length_mm": 2.0,
        "reached_at_arch_to_hub_mm": 2.0,
        "tyre_gap_mm": 2.0,
        "adjusted_ride_arch_to_hub_mm": 2.0,
        "spring_base_mm": 5.0,
        "track_mm": 5.0,
        "neutral_arch_to_hub_mm": 2.0,
        "reached_in_bump_at_arch_to_hub_mm": 2.0,
        "ball_joint_reached_at_arch_to_hub_mm": 2.0,
        "inner_cv_reached_at_arch_to_hub_mm": 2.0,
    }
)
"""Half-widths of a reading with the tape, mm (common practice; a class II tape alone errs by under 1 mm here)."""

CATALOGUED = MappingProxyType(
    {
        "free_length_mm": 1.0,
        "solid_length_mm": 1.0,
        "mean_diameter_mm": 1.0,
        "extended_length_mm": 1.0,
        "closed_length_mm": 1.0,
        "seat_offset_mm": 1.0,
        "thickness_mm": 1.0,
        "drop_mm": 1.0,
        "free_height_mm": 1.0,
        "crushed_height_mm": 1.0,
        "max_arch_to_hub_mm": 1.0,
        "wire_mm": 0.1,
        "diameter_mm": 0.1,
        "active_length_mm": 2.0,
        "arm_length_mm": 2.0,
        "free_camber_mm": 2.0,
        "max_deflection_mm": 2.0,
        "height_mm": 1.0,
        "length_mm": 1.0,
        "overall_diameter_mm": 4.0,
        "section_width_mm": 2.0,
        "arm_angle_at_ride_deg": 2.0,
        "max_angle_deg": 1.0,
        "max_plunge_mm": 1.0,
        "rack_travel_mm": 1.0,
        "motion_ratio": 0.02,
        "bump_stop_ratio": 0.02,
        "ball_joint_max_angle_deg": 1.0,
        "behind_front_axle_mm": 20.0,
        "wheelbase_mm": 5.0,
    }
)
"""Half-widths of a catalogued dimension (common practice); where a load sits is paced out, not measured."""

RELATIVE = MappingProxyType(
    {
        "rate_n_per_mm": 0.05,
        "gas_force_n": 0.05,
        "shear_modulus_mpa": 0.02,
        "mass_kg": 0.02,
        "front_axle_kg": 0.02,
        "rear_axle_kg": 0.02,
        "unsprung_kg_per_wheel": 0.02,
        "occupants_kg": 0.02,
    }
)
"""Half-widths as a share of the value (common practice). A rating, a coil count or a strength has none."""


@dataclass(frozen=True, slots=True, eq=False)
class Policy:
    """What a verdict is decided by. Reserves are in the unit of their check's quantity. It equals itself alone."""

    name: str
    version: int
    reserves: Mapping[str, float]
    angle_reserve_deg: float
    surveyed_point_mm: float
    surveyed_direction: float
    clear_probability: float
    prior_motion_ratio: Mapping[str, Reading]
    prior_bump_stop_ratio: Mapping[str, Reading]
    prior_arm_angle_at_ride_deg: Reading
    prior_shear_modulus_mpa: Reading
    extrapolation_share: float
    crush_share: Mapping[str, Reading]
    travel_floor_percent: float
    lift_tolerance_mm: float
    occupants_behind_front_axle_share: Reading

    def reserve(self, check: str, quantity: str) -> float:
        """How much of a check's margin must be there for certain, in the unit of its quantity.

        >>> STANDARD.reserve("inner_cv", "arch_to_hub_mm"), STANDARD.reserve("inner_cv", "angle_deg")
        (5.0, 2.0)
        """
        return self.angle_reserve_deg if quantity.endswith("_deg") else self.reserves.get(check, 0.0)

    def half_width(self, field: str, reading: Reading) -> float:
        """Half-width of a reading of ``field``, in the field's unit: the stated one or this policy's default.

        >>> STANDARD.half_width("rate_n_per_mm", Reading(80.0))
        4.0
        """
        if field in RELATIVE:
            return reading.half_width(abs(reading.value) * RELATIVE[field])
        return reading.half_width(TAPED.get(field, CATALOGUED.get(field, 0.0)))


STANDARD = Policy(
    name="standard",
    version=1,
    reserves=MappingProxyType(
        {  # common practice, all of them
            "coil_bind": 5.0,
            "damper_bottoming": 5.0,
            "spring_retention": 3.0,
            "upper_ball_joint": 5.0,
            "lower_ball_joint": 5.0,
            "tie_rod_end": 5.0,
            "inner_cv": 5.0,
            "outer_cv": 5.0,
            "brake_hose": 15.0,
            "damper_topping": 0.0,
            "leaf_over_deflection": 5.0,
            "shackle_past_line": 5.0,
            "tyre_clearance": 10.0,
        }
    ),
    angle_reserve_deg=2.0,  # common practice
    surveyed_point_mm=1.0,  # each coordinate; common practice
    surveyed_direction=0.01,  # each component of a unit vector, about half a degree; common practice
    clear_probability=0.975,  # guarded acceptance, JCGM 106:2012, 8.3.2; the level is our decision
    prior_motion_ratio=MappingProxyType(
        {  # common practice, all of them
            "wishbone_coilover": Reading(0.60, 0.10),
            "macpherson": Reading(0.95, 0.05),
            "wishbone_torsion_bar": Reading(0.60, 0.15),
            "solid_axle_coil": Reading(0.95, 0.10),
            "solid_axle_leaf": Reading(0.90, 0.15),
        }
    ),
    prior_bump_stop_ratio=MappingProxyType(
        {  # common practice: a stop on the lower arm sits about where the strut does, one on a beam over the beam
            "wishbone_coilover": Reading(0.60, 0.20),
            "macpherson": Reading(0.60, 0.20),
            "wishbone_torsion_bar": Reading(0.60, 0.20),
            "solid_axle_coil": Reading(1.00, 0.10),
            "solid_axle_leaf": Reading(1.00, 0.10),
        }
    ),
    prior_arm_angle_at_ride_deg=Reading(5.0, 8.0),  # common practice
    prior_shear_modulus_mpa=Reading(
        78_500.0, 2_000.0
    ),  # spring steel, EN 10089 known second-hand; width common practice
    extrapolation_share=0.10,  # of the extrapolated part of a curve; common practice
    crush_share=MappingProxyType(  # of the free height of a bump stop whose crushed height is unknown; common practice
        {
            "sealed_road": Reading(0.40, 0.15),
            "unsealed_touring": Reading(0.55, 0.15),
            "rock_and_articulation": Reading(0.70, 0.15),
        }
    ),
    travel_floor_percent=66.0,  # two thirds: road-authority text quoting VSB 14 section LS, seen second-hand
    lift_tolerance_mm=10.0,  # common practice
    occupants_behind_front_axle_share=Reading(0.50, 0.10),  # of the wheelbase; common practice
)

POLICIES: Mapping[str, Policy] = MappingProxyType({STANDARD.name: STANDARD})
