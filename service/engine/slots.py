"""The numbers that a part brings into a build: slot name -> (value, half-width), not-a-number where it is unstated.

A slot that a build fills with a part of its own no longer takes the factory's number, known or not.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from service.engine.envelope import Fitted
from service.engine.parts import (
    BumpStop,
    CoilSpring,
    Damper,
    ForceTable,
    Forming,
    LeafBlock,
    LeafPack,
    Shackle,
    Strut,
    TorsionBar,
    Tyre,
)
from service.engine.policy import Policy
from service.engine.reading import Reading
from service.engine.springs import SOLID_LENGTH_COILS, active_coils_of, points_of_zones, rate_n_per_mm

Slot = tuple[float, float]
Slots = dict[str, Slot]
UNKNOWN = (float("nan"), 0.0)
UNIT_POINTS: ForceTable = ((0.0, 0.0), (1.0, 1.0))
"""A spring of 1 N/mm: its force_scale is a rate, or not-a-number and so is every force."""


def stated(policy: Policy, field: str, reading: Reading | None) -> Slot:
    """A reading as (value, half-width); (not-a-number, 0) where there is none."""
    return UNKNOWN if reading is None else (reading.value, policy.half_width(field, reading))


def spring_slots(spring: CoilSpring | None, policy: Policy) -> Slots:
    """What a coil spring brings.

    ``force_scale`` carries the uncertainty of a stated rate or table; ``reference_rate`` is the rate by dimensions as
    read, where the dimensions are what its force rests on. The curve itself is ``force_points``.
    """
    spring = spring or CoilSpring()
    wire = stated(policy, "wire_mm", spring.wire_mm)
    added, tolerance = _solid_length_rule(spring, wire[1])
    return {
        "wire": wire,
        "total_coils": stated(policy, "total_coils", spring.total_coils),
        "active_coils": active_coils(spring),
        "mean_diameter": stated(policy, "mean_diameter_mm", spring.mean_diameter_mm),
        "shear_modulus": stated(
            policy, "shear_modulus_mpa", spring.shear_modulus_mpa or policy.prior_shear_modulus_mpa
        ),
        "free_length": stated(policy, "free_length_mm", spring.free_length_mm),
        "measured_solid": stated(policy, "solid_length_mm", spring.solid_length_mm),
        "solid_added_coils": (added, 0.0),
        "solid_wire_tolerance": (tolerance, 0.0),
        "tensile_strength": stated(policy, "tensile_strength_mpa", spring.tensile_strength_mpa),
        "hot_formed": ({"hot": 1.0, "cold": 0.0}.get(spring.forming or "", np.nan), 0.0),
        "seating_coefficient": (spring.seating_coefficient or np.nan, 0.0),
        "force_scale": _force_scale(spring, policy),
        "reference_rate": (_reference_rate(spring, policy), 0.0),
        "zone_gaps": (sum(gap for _, gap in spring.zones) if spring.zones else np.nan, 0.0),
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


def active_coils(spring: CoilSpring) -> Slot:
    """Active windings: stated, or the windings less the dead ones at the ends."""
    if spring.active_coils is not None:
        return spring.active_coils.value, spring.active_coils.half_width(0.0)
    if spring.total_coils is None or spring.ends is None:
        return UNKNOWN
    return float(active_coils_of(spring.total_coils.value, spring.forming, spring.ends)), 0.0


def rate_by_dimensions(spring: CoilSpring, policy: Policy) -> float:
    """Rate from wire, mean diameter and active windings as read, N/mm; not-a-number where one is not known."""
    if spring.wire_mm is None or spring.mean_diameter_mm is None:
        return float("nan")
    modulus = spring.shear_modulus_mpa or policy.prior_shear_modulus_mpa
    dimensions = spring.wire_mm.value, spring.mean_diameter_mm.value, active_coils(spring)[0]
    return float(rate_n_per_mm(*dimensions, modulus.value))


def _reference_rate(spring: CoilSpring, policy: Policy) -> float:
    """The rate by dimensions, of a spring whose force rests on them."""
    if spring.rate_n_per_mm is not None or spring.force_table is not None:
        return float("nan")
    if spring.zones is None:
        return rate_by_dimensions(spring, policy)
    one_coil = CoilSpring(wire_mm=spring.wire_mm, mean_diameter_mm=spring.mean_diameter_mm, active_coils=Reading(1.0))
    return rate_by_dimensions(one_coil, policy)


def _force_scale(spring: CoilSpring, policy: Policy) -> Slot:
    if spring.rate_n_per_mm is not None:
        return 1.0, policy.half_width("rate_n_per_mm", spring.rate_n_per_mm) / spring.rate_n_per_mm.value
    if spring.force_table is not None:
        return 1.0, policy.half_width("rate_n_per_mm", Reading(1.0))
    return (1.0, 0.0) if _reference_rate(spring, policy) > 0.0 else UNKNOWN


def force_points(spring: CoilSpring | None, policy: Policy) -> ForceTable:
    """A coil spring's force over deflection as points; a linear spring is its first millimetre, gone on with."""
    if spring is None:
        return UNIT_POINTS
    if spring.force_table is not None:
        return spring.force_table
    if spring.zones is not None:
        return _zone_points(spring, policy)
    rate = rate_by_dimensions(spring, policy) if spring.rate_n_per_mm is None else spring.rate_n_per_mm.value
    return ((0.0, 0.0), (1.0, rate)) if rate > 0.0 else UNIT_POINTS


def _zone_points(spring: CoilSpring, policy: Policy) -> ForceTable:
    if spring.wire_mm is None or spring.mean_diameter_mm is None or spring.zones is None:
        return UNIT_POINTS
    modulus = spring.shear_modulus_mpa or policy.prior_shear_modulus_mpa
    return _points(spring.wire_mm.value, spring.mean_diameter_mm.value, modulus.value, spring.zones)


_points = lru_cache(maxsize=4096)(points_of_zones)


def strut_slots(strut: Strut | None, policy: Policy) -> Slots:
    strut = strut or Strut()
    offset = stated(policy, "seat_offset_mm", strut.seat_offset_mm)
    return {**_damper(strut, policy), "seat_offset": offset}


def separate_damper_slots(damper: Damper | None, policy: Policy) -> Slots:
    return _damper(damper or Damper(), policy)


def damper_slots(fitted: Fitted, policy: Policy) -> Slots:
    """Of the factory's strut, or of its damper where that stands apart."""
    if fitted.damper is not None:
        return {**strut_slots(None, policy), **separate_damper_slots(fitted.damper, policy)}
    return strut_slots(fitted.strut, policy)


def _damper(damper: Strut | Damper, policy: Policy) -> Slots:
    gas = stated(policy, "gas_force_n", damper.gas_force_n)
    return {
        "extended": stated(policy, "extended_length_mm", damper.extended_length_mm),
        "closed": stated(policy, "closed_length_mm", damper.closed_length_mm),
        "gas_force": (0.0, 0.0) if np.isnan(gas[0]) else gas,
    }


def stop_slots(stop: BumpStop | None, policy: Policy) -> Slots:
    stop = stop or BumpStop()
    return {
        "stop_free": stated(policy, "free_height_mm", stop.free_height_mm),
        "stop_crushed": stated(policy, "crushed_height_mm", stop.crushed_height_mm),
    }


def bar_slots(bar: TorsionBar | None, policy: Policy) -> Slots:
    bar = bar or TorsionBar()
    return {
        "bar_diameter": stated(policy, "diameter_mm", bar.diameter_mm),
        "bar_length": stated(policy, "active_length_mm", bar.active_length_mm),
        "arm_length": stated(policy, "arm_length_mm", bar.arm_length_mm),
        "bar_modulus": stated(policy, "shear_modulus_mpa", bar.shear_modulus_mpa or policy.prior_shear_modulus_mpa),
        "bar_permissible": stated(policy, "permissible_stress_mpa", bar.permissible_stress_mpa),
        "adjusted_ride": stated(policy, "adjusted_ride_arch_to_hub_mm", bar.adjusted_ride_arch_to_hub_mm),
    }


def pack_slots(pack: LeafPack | None, policy: Policy) -> Slots:
    """A leaf pack is a spring whose length is its camber; it is solid at its greatest deflection."""
    pack = pack or LeafPack()
    rate = pack.rate_n_per_mm
    return {
        "leaf_rate": stated(policy, "rate_n_per_mm", rate),
        "leaf_max_deflection": stated(policy, "max_deflection_mm", pack.max_deflection_mm),
        "free_length": stated(policy, "free_camber_mm", pack.free_camber_mm),
    }


def block_slots(block: LeafBlock | None, policy: Policy) -> Slots:
    return {"block": stated(policy, "height_mm", block.height_mm if block else None)}


def shackle_slots(shackle: Shackle | None, policy: Policy) -> Slots:
    shackle = shackle or Shackle()
    reached = stated(policy, "reached_at_arch_to_hub_mm", shackle.reached_at_arch_to_hub_mm)
    return {"shackle_length": stated(policy, "length_mm", shackle.length_mm), "limit_shackle": reached}


def tyre_slots(tyre: Tyre | None, policy: Policy) -> Slots:
    tyre = tyre or Tyre()
    return {
        "tyre_diameter": stated(policy, "overall_diameter_mm", tyre.overall_diameter_mm),
        "tyre_width": stated(policy, "section_width_mm", tyre.section_width_mm),
    }


def axle_slots(fitted: Fitted, policy: Policy) -> Slots:
    """Of the factory's leaves, blocks and tyres; an axle without a block has one of no height."""
    pack = pack_slots(fitted.leaf_pack, policy) if fitted.leaf_pack else {}
    return {
        "leaf_rate": UNKNOWN,
        "leaf_max_deflection": UNKNOWN,
        **pack,
        "block": (0.0, 0.0) if fitted.leaf_block is None else block_slots(fitted.leaf_block, policy)["block"],
        **shackle_slots(fitted.shackle, policy),
        **tyre_slots(fitted.tyre, policy),
    }
