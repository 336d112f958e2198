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
        "mass_kg": 0.02,
        "front_axle_kg": 0.02,
        "rear_axle_kg": 0.02,
        "unsprung_kg_per_wheel": 0.02,
        "occupants_kg": 0.02,
    }
)
"""Half-widths as a share of the value (common practice). A rating, a coil count or a strength has none."""


@dataclass(frozen=True, slots=True)
class Policy:
    """What a verdict is decided by. Reserves are in the unit of their check's quantity."""

    name: str
    version: int
    reserves: Mapping[str, float]
    clear_probability: float
    prior_motion_ratio: Mapping[str, Reading]
    prior_bump_stop_ratio: Reading
    extrapolation_share: float
    crush_share: Mapping[str, Reading]
    travel_floor_percent: float
    lift_tolerance_mm: float
    occupants_behind_front_axle_share: Reading

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
        }
    ),
    clear_probability=0.975,  # guarded acceptance, JCGM 106:2012, 8.3.2; the level is our decision
    prior_motion_ratio=MappingProxyType(
        {"wishbone_coilover": Reading(0.60, 0.10), "macpherson": Reading(0.95, 0.05)}  # common practice
    ),
    prior_bump_stop_ratio=Reading(
        0.60, 0.20
    ),  # common practice: a stop on the lower arm sits about where the strut does
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
