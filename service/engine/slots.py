"""The numbers that a part brings into a build: slot name -> (value, half-width), not-a-number where it is unstated.

A slot that a build fills with a part of its own no longer takes the factory's number, known or not.
"""

from __future__ import annotations

import numpy as np

from service.engine.parts import BumpStop, CoilSpring, ForceTable, Forming, Strut
from service.engine.policy import Policy
from service.engine.reading import Reading
from service.engine.springs import SOLID_LENGTH_COILS, active_coils_of

Slots = dict[str, tuple[float, float]]
UNKNOWN = (float("nan"), 0.0)


def stated(policy: Policy, field: str, reading: Reading | None) -> tuple[float, float]:
    """A reading as (value, half-width); (not-a-number, 0) where there is none."""
    return UNKNOWN if reading is None else (reading.value, policy.half_width(field, reading))


def spring_slots(spring: CoilSpring | None, policy: Policy) -> Slots:
    """What a spring brings. ``force_scale`` carries the rate's uncertainty; the curve itself is ``force_points``."""
    spring = spring or CoilSpring()
    wire = stated(policy, "wire_mm", spring.wire_mm)
    added, tolerance = _solid_length_rule(spring, wire[1])
    return {
        "wire": wire,
        "total_coils": stated(policy, "total_coils", spring.total_coils),
        "active_coils": _active_coils(spring),
        "mean_diameter": stated(policy, "mean_diameter_mm", spring.mean_diameter_mm),
        "free_length": stated(policy, "free_length_mm", spring.free_length_mm),
        "measured_solid": stated(policy, "solid_length_mm", spring.solid_length_mm),
        "solid_added_coils": (added, 0.0),
        "solid_wire_tolerance": (tolerance, 0.0),
        "tensile_strength": stated(policy, "tensile_strength_mpa", spring.tensile_strength_mpa),
        "hot_formed": ({"hot": 1.0, "cold": 0.0}.get(spring.forming or "", float("nan")), 0.0),
        "force_scale": _force_scale(spring, policy),
    }


def _solid_length_rule(spring: CoilSpring, wire_half_width: float) -> tuple[float, float]:
    """Coils to add to the windings, and how much the wire may be thicker; (0, 0) is wire times windings.

    Where the ends are known and the forming is not, the longer of cold and hot: unknown never rounds up to safe.
    """
    if spring.ends is None:
        return 0.0, 0.0
    formings: tuple[Forming, ...] = (spring.forming,) if spring.forming else ("cold", "hot")
    tolerance = wire_half_width if spring.wire_tolerance_mm is None else spring.wire_tolerance_mm
    return max(SOLID_LENGTH_COILS[forming, spring.ends] for forming in formings), tolerance


def _active_coils(spring: CoilSpring) -> tuple[float, float]:
    if spring.active_coils is not None:
        return spring.active_coils.value, spring.active_coils.half_width(0.0)
    if spring.total_coils is None or spring.ends is None:
        return UNKNOWN
    return float(active_coils_of(spring.total_coils.value, spring.forming, spring.ends)), 0.0


def _force_scale(spring: CoilSpring, policy: Policy) -> tuple[float, float]:
    if spring.rate_n_per_mm is not None:
        return 1.0, policy.half_width("rate_n_per_mm", spring.rate_n_per_mm) / spring.rate_n_per_mm.value
    if spring.force_table is not None:
        return 1.0, policy.half_width("rate_n_per_mm", Reading(1.0))
    return UNKNOWN


def force_points(spring: CoilSpring | None) -> ForceTable:
    """A spring's force over deflection as points; a linear spring is its first millimetre, gone on with."""
    if spring is not None and spring.force_table is not None:
        return spring.force_table
    if spring is not None and spring.rate_n_per_mm is not None:
        return ((0.0, 0.0), (1.0, spring.rate_n_per_mm.value))
    return ((0.0, 0.0), (1.0, 1.0))  # unknown: its force_scale is not-a-number, and so is every force


def strut_slots(strut: Strut | None, policy: Policy) -> Slots:
    strut = strut or Strut()
    gas = stated(policy, "gas_force_n", strut.gas_force_n)
    return {
        "extended": stated(policy, "extended_length_mm", strut.extended_length_mm),
        "closed": stated(policy, "closed_length_mm", strut.closed_length_mm),
        "seat_offset": stated(policy, "seat_offset_mm", strut.seat_offset_mm),
        "gas_force": (0.0, 0.0) if np.isnan(gas[0]) else gas,
    }


def stop_slots(stop: BumpStop | None, policy: Policy) -> Slots:
    stop = stop or BumpStop()
    return {
        "stop_free": stated(policy, "free_height_mm", stop.free_height_mm),
        "stop_crushed": stated(policy, "crushed_height_mm", stop.crushed_height_mm),
    }
