"""An axle envelope compiled once: its readings spread over columns, its travel curve, its factory parts.

What is the same for every build on an axle is worked out here and kept. All arrays have one entry a column (C,): the
axle as read, then once more with each of its readings moved a little (see ``sensitivity``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Lock

import numpy as np

from service.engine.decision import half_width_of_divisor
from service.engine.envelope import JOINTS, AxleEnvelope, Duty, End, Fitted, Limit, VehicleMasses
from service.engine.factory_droop import droop_doubt, factory_droop
from service.engine.layouts import LAYOUTS, LayoutTraits
from service.engine.plausible_axle import check_envelope
from service.engine.policy import Policy
from service.engine.reading import Reading
from service.engine.refusal import RefusedError
from service.engine.sensitivity import Array, Columns, spread
from service.engine.slots import UNKNOWN, axle_slots, bar_slots, damper_slots, spring_slots, stated, stop_slots
from service.engine.sprung_weight import sprung_weight
from service.engine.stations import TravelCurves, compile_travel, leaf_travel, strut_offset
from service.engine.survey import as_surveyed, compile_survey, condensed_survey, survey_readings

GeometryChange = tuple[tuple[str, tuple[float, float]], ...]
"""What a build changes of a surveyed linkage: names and readings (value, half-width)."""
MOST_CHANGES = 64
"""Compiled changes of one axle that are kept."""
CHANGING = Lock()


@dataclass(frozen=True)
class Axle:
    """One axle of one vehicle under one policy. ``notes`` are assumptions that its readings alone call for."""

    envelope: AxleEnvelope
    masses: VehicleMasses
    end: End
    policy: Policy

    @cached_property
    def _compiled(self) -> dict[tuple[Duty, GeometryChange], CompiledAxle]:
        return {}

    def under(self, duty: Duty, change: GeometryChange = ()) -> CompiledAxle:
        """The axle compiled for a duty, which sets the crush of a bump stop that nobody has measured, and for a build's
        change of a surveyed geometry.
        """
        key = (duty, change)
        compiled = self._compiled.get(key)
        if compiled is None:
            compiled = _compile(self, duty, change)
            with CHANGING:  # several threads may compile changes of one axle
                if len(self._compiled) >= MOST_CHANGES:
                    self._compiled.pop(next(iter(self._compiled)))
                compiled = self._compiled.setdefault(key, compiled)
        return compiled

    @property
    def bump_stop_on_rod(self) -> bool:
        return (self.envelope.bump_stop_on or self.traits.bump_stop_on) == "damper_rod"

    @property
    def surveyed(self) -> bool:
        return self.envelope.travel.hard_points is not None

    @property
    def traits(self) -> LayoutTraits:
        return LAYOUTS[self.envelope.layout]


@dataclass(frozen=True)
class CompiledAxle:
    """``quantities`` maps a name to its array (C,), not-a-number where nobody measured it.

    ``base`` is the same axle, over the same columns, without a build's change of its surveyed geometry; ``kept`` holds
    what was worked out from all this once.
    """

    axle: Axle
    duty: Duty
    columns: Columns
    travel: TravelCurves
    quantities: Mapping[str, Array]
    notes: tuple[str, ...]
    base: CompiledAxle | None = None
    kept: dict[str, object] = field(default_factory=dict)

    @property
    def factory(self) -> CompiledAxle:
        """The axle as the factory left it, without a build's change of the geometry."""
        return self.base or self

    @cached_property
    def matrix(self) -> Array:
        """All quantities one below the other, in their order."""
        return np.array(list(self.quantities.values()))


def compile_axle(envelope: AxleEnvelope, masses: VehicleMasses | None, end: End, policy: Policy) -> Axle:
    """An axle ready for any number of builds.

    Raises ``RefusedError`` when the readings cannot be true, with every fault found.

    >>> from service.engine.envelope import Station, Travel
    >>> from service.engine.policy import STANDARD
    >>> from service.engine.reading import Reading
    >>> taped = Travel((Station("full_droop", Reading(600.0), Reading(310.0)),))
    >>> compile_axle(AxleEnvelope("wishbone_coilover", taped), None, "front", STANDARD).bump_stop_on_rod
    False
    """
    faults = check_envelope(envelope, masses, end)
    if faults:
        raise RefusedError(faults)
    return Axle(envelope, masses or VehicleMasses(), end, policy)


def _compile(axle: Axle, duty: Duty, change: GeometryChange) -> CompiledAxle:
    readings = _factory_readings(axle, duty) | _travel_readings(axle.envelope, axle.policy) | dict(change)
    offset, notes = strut_offset(axle.envelope, axle.policy)
    if offset is not None:
        readings["seat_offset"] = offset
    readings["droop_doubt"] = (0.0, droop_doubt(axle.envelope, readings))
    columns = spread(readings)
    if axle.surveyed:
        columns = condensed_survey(axle.envelope, columns)
    compiled = _in_columns(axle, duty, columns, notes)
    if not change:
        return compiled
    base = _in_columns(axle, duty, replace(columns, moved=as_surveyed(columns.moved)), notes)
    # Where the vehicle rides as surveyed, what it weighs and how long a strut touches its stop, no part changes.
    kept = {name: base.quantities[name] for name in ("weight_n", "ride_height", "contact_span")}
    return replace(compiled, quantities={**compiled.quantities, **kept}, notes=base.notes, base=base)


def _in_columns(axle: Axle, duty: Duty, columns: Columns, notes: list[str]) -> CompiledAxle:
    moved = columns.moved
    if axle.surveyed:
        travel = compile_survey(axle.envelope, moved, columns.weights)
    else:
        travel = compile_travel(axle.envelope, moved)
    droop = factory_droop(axle.envelope, moved, travel)
    quantities = {
        **moved,
        "droop_span": droop.span_mm,
        "hangs_lower": droop.lower_mm,
        "proven_droop": droop.proven_mm,
        "droop_height": travel.points["full_droop"].arch_to_hub_mm,
        "ride_height": travel.points["ride"].arch_to_hub_mm,
        "contact_height": travel.points["bump_contact"].arch_to_hub_mm,
        "contact_span": _contact_span(axle, moved, travel),
    }
    weight, weight_notes = sprung_weight(axle.envelope, axle.policy, quantities, travel)
    quantities["weight_n"] = weight
    if axle.traits.spring == "leaf":
        gas = (
            quantities["gas_force"] * travel.damper.at(quantities["ride_height"], np.arange(columns.count)).motion_ratio
        )
        travel = leaf_travel(travel, quantities["free_length"] - (weight - gas) / quantities["leaf_rate"])
    said = (*notes, *travel.notes, *droop.notes, *weight_notes)
    return CompiledAxle(axle, duty, columns, travel, quantities, said)


def _contact_span(axle: Axle, moved: Mapping[str, Array], travel: TravelCurves) -> Array:
    """Strut length at which a stop on its rod touches: as taped, or by a survey's room left to it, along the strut."""
    stop, plate = (f"/travel/hard_points/{point}/" for point in ("bump_stop", "bump_plate"))
    if not axle.surveyed or not axle.bump_stop_on_rod or f"{stop}0" not in moved or f"{plate}0" not in moved:
        return travel.points["bump_contact"].span_mm
    apart = np.stack([moved[f"{plate}{i}"] - moved[f"{stop}{i}"] for i in range(3)])
    return np.asarray(travel.points["ride"].span_mm - np.linalg.norm(apart, axis=0))


def _factory_readings(axle: Axle, duty: Duty) -> dict[str, tuple[float, float]]:
    envelope, masses, policy = axle.envelope, axle.masses, axle.policy
    fitted: Fitted = envelope.fitted
    share = policy.crush_share[duty]
    has_bar, bars = axle.traits.spring == "torsion_bar", bar_slots(fitted.torsion_bar, policy)
    readings = {
        **spring_slots(fitted.spring, policy),
        **damper_slots(fitted, policy),
        **stop_slots(fitted.bump_stop, policy),
        **(bars if has_bar else dict.fromkeys(bars, UNKNOWN)),
        **axle_slots(fitted, policy),
        "adjusted_ride": UNKNOWN,  # however the factory's bar is set, the vehicle was measured with it
        "arm_angle": _arm_angle(axle) if has_bar else UNKNOWN,
        "spring_base": stated(policy, "spring_base_mm", envelope.spring_base_mm),
        "track": stated(policy, "track_mm", envelope.track_mm),
        "crush_share": (share.value, share.half_width(0.0)),
        "unsprung_kg": stated(policy, "unsprung_kg_per_wheel", envelope.unsprung_kg_per_wheel),
        "axle_kg": stated(policy, f"{axle.end}_axle_kg", getattr(masses, f"{axle.end}_axle_kg")),
        "axle_rating_kg": stated(policy, f"{axle.end}_axle_rating_kg", getattr(masses, f"{axle.end}_axle_rating_kg")),
        "front_and_rear_kg": _kerb_mass(masses, policy),
        "gross_rating_kg": stated(policy, "gross_rating_kg", masses.gross_rating_kg),
    }
    for joint in JOINTS:
        limit = envelope.limits.get(joint, Limit())
        for slot, taped in LIMIT_SLOTS.items():
            if (slot, joint) != ("limit", "shackle") or getattr(limit, taped) is not None:  # the shackle may state it
                readings[f"{slot}_{joint}"] = stated(policy, taped, getattr(limit, taped))
    points = envelope.travel.hard_points
    if points is not None:
        readings |= {"top_spacer": (0.0, 0.0), "differential_drop": (0.0, 0.0), **survey_readings(envelope, policy)}
        readings["rack_travel"] = stated(policy, "rack_travel_mm", points.rack_travel_mm)
    return readings


LIMIT_SLOTS = {
    "limit": "reached_at_arch_to_hub_mm",
    "bump_limit": "reached_in_bump_at_arch_to_hub_mm",
    "angle_limit": "max_angle_deg",
    "neutral": "neutral_arch_to_hub_mm",
    "plunge_limit": "max_plunge_mm",
}
"""Slot of a joint's limit -> the field that states it."""


def _arm_angle(axle: Axle) -> tuple[float, float]:
    prior = axle.policy.prior_arm_angle_at_ride_deg
    angle = axle.envelope.arm_angle_at_ride_deg or prior
    return angle.value, axle.policy.half_width("arm_angle_at_ride_deg", angle)


def _kerb_mass(masses: VehicleMasses, policy: Policy) -> tuple[float, float]:
    front, rear = (
        stated(policy, "front_axle_kg", masses.front_axle_kg),
        stated(policy, "rear_axle_kg", masses.rear_axle_kg),
    )
    both = front[0] + rear[0]
    return (both, 0.0 if np.isnan(both) else front[1] + rear[1])


def _travel_readings(envelope: AxleEnvelope, policy: Policy) -> dict[str, tuple[float, float]]:
    travel = envelope.travel
    prior = policy.prior_motion_ratio[envelope.layout]
    ratio = travel.motion_ratio or prior
    stop_ratio = travel.bump_stop_ratio or policy.prior_bump_stop_ratio[envelope.layout]
    surveyed = travel.hard_points is not None  # a survey goes to the ends of the travel, and tells the ratio
    beyond = 0.0 if surveyed else policy.extrapolation_share
    readings = {
        "motion_ratio": (ratio.value, 0.0 if surveyed else _of_divisor(policy, "motion_ratio", ratio)),
        "bump_stop_ratio": (stop_ratio.value, _of_divisor(policy, "bump_stop_ratio", stop_ratio)),
        "beyond_bump": (0.0, beyond),
        "beyond_droop": (0.0, beyond),
    }
    for index, station in enumerate(travel.stations):
        for taped in ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm", "tyre_gap_mm"):
            reading = getattr(station, taped)
            by_gap = taped == "damper_length_mm" and station.seat_gap_mm is not None and LAYOUTS[envelope.layout].strut
            if reading is not None and not by_gap:  # a strut's curve goes by the seat gap where both were taped
                readings[f"/travel/stations/{index}/{taped}"] = stated(policy, taped, reading)
    return readings


def _of_divisor(policy: Policy, field: str, ratio: Reading) -> float:
    """Half-width of a ratio: travel at the wheel is travel of strut or stop divided by it."""
    return half_width_of_divisor(ratio.value, policy.half_width(field, ratio), policy.clear_probability)
