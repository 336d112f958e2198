"""An axle envelope compiled once: its readings spread over columns, its travel curve, its factory parts.

What is the same for every build on an axle is worked out here and kept. All arrays have one entry a column (C,): the
axle as read, then once more with each of its readings moved a little (see ``sensitivity``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from service.engine.envelope import JOINTS, AxleEnvelope, Duty, End, Fitted, Limit, VehicleMasses
from service.engine.loads import STANDARD_GRAVITY
from service.engine.plausible_axle import check_envelope
from service.engine.policy import Policy
from service.engine.refusal import RefusedError
from service.engine.sensitivity import Array, Columns, spread
from service.engine.slots import force_points, spring_slots, stated, stop_slots, strut_slots
from service.engine.springs import force_n, stack_tables, table_of_points
from service.engine.stations import TapedTravel, compile_travel, strut_offset

DROOP_DISAGREEMENT_MM = 6.0
"""Beyond the taped half-widths of the readings that meet here (common practice)."""
WEIGHT_DISAGREEMENT = 0.15
"""Share of the weight beyond which spring and scales contradict each other (common practice)."""


@dataclass(frozen=True)
class Axle:
    """One axle of one vehicle under one policy. ``notes`` are assumptions that its readings alone call for."""

    envelope: AxleEnvelope
    masses: VehicleMasses
    end: End
    policy: Policy

    @cached_property
    def _by_duty(self) -> dict[Duty, CompiledAxle]:
        return {}

    def under(self, duty: Duty) -> CompiledAxle:
        """The axle compiled for a duty: the duty sets the crush of a bump stop that nobody has measured."""
        if duty not in self._by_duty:
            self._by_duty[duty] = _compile(self, duty)
        return self._by_duty[duty]

    @property
    def bump_stop_on_rod(self) -> bool:
        where = self.envelope.bump_stop_on or ("damper_rod" if self.envelope.layout == "macpherson" else "arm")
        return where == "damper_rod"


@dataclass(frozen=True)
class CompiledAxle:
    """``quantities`` maps a name to its array (C,), not-a-number where nobody measured it; ``kept`` what was worked
    out from them once.
    """

    axle: Axle
    duty: Duty
    columns: Columns
    travel: TapedTravel
    quantities: Mapping[str, Array]
    notes: tuple[str, ...]
    kept: dict[str, object] = field(default_factory=dict)

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
    faults = check_envelope(envelope, masses)
    if faults:
        raise RefusedError(faults)
    return Axle(envelope, masses or VehicleMasses(), end, policy)


def _compile(axle: Axle, duty: Duty) -> CompiledAxle:
    envelope, policy = axle.envelope, axle.policy
    offset, offset_notes = strut_offset(envelope, policy)
    factory = _factory_readings(axle, duty)
    if offset is not None:
        factory["seat_offset"] = offset
    columns = spread(factory | _travel_readings(envelope, policy))
    travel = compile_travel(envelope, columns.moved, offset_known=offset is not None)
    droop, droop_notes = _droop_span(columns.moved, travel)
    quantities = {
        **columns.moved,
        "droop_span": droop,
        "ride_height": travel.points["ride"].arch_to_hub_mm,
        "ride_span": travel.points["ride"].span_mm,
        "contact_height": travel.points["bump_contact"].arch_to_hub_mm,
        "contact_span": travel.points["bump_contact"].span_mm,
    }
    weight, weight_notes = _sprung_weight(axle, quantities, travel)
    quantities["weight_n"] = weight
    notes = (*offset_notes, *travel.notes, *droop_notes, *weight_notes)
    return CompiledAxle(axle, duty, columns, travel, quantities, notes)


def _droop_span(moved: Mapping[str, Array], travel: TapedTravel) -> tuple[Array, list[str]]:
    """Span at which the factory strut is fully extended: by its length where that is known, else as taped."""
    by_strut = moved["extended"] - travel.damper_from_span
    as_taped = travel.points["full_droop"].span_mm
    if np.isnan(by_strut[0]):
        return as_taped, []
    apart = by_strut[0] - as_taped[0]
    note = (
        f"The factory strut's extended length lets the wheel hang {abs(apart):.1f} mm of strut "
        f"{'lower' if apart > 0.0 else 'higher'} than it was taped at full droop: something else may hold the wheel, "
        "or a reading is wrong. The strut's length was used."
    )
    return by_strut, [note] if abs(apart) > DROOP_DISAGREEMENT_MM else []


def _sprung_weight(axle: Axle, quantities: Mapping[str, Array], travel: TapedTravel) -> tuple[Array, list[str]]:
    """Sprung weight on one wheel at kerb, N, by the scales; else what the factory spring carries at the taped ride.

    weight = (axle mass / 2 - unsprung mass of the wheel) g  =  (spring force + gas force) x motion ratio
    """
    by_scales = (0.5 * quantities["axle_kg"] - quantities["unsprung_kg"]) * STANDARD_GRAVITY
    on_curve = travel.curve.at(quantities["ride_height"], np.arange(len(by_scales)))
    table = stack_tables([table_of_points(force_points(axle.envelope.fitted.spring))])
    deflection = quantities["free_length"] - quantities["ride_span"] - travel.seat_from_span
    force = quantities["force_scale"] * force_n(deflection[None, :], table)[0]
    by_spring = (force + quantities["gas_force"]) * on_curve.motion_ratio
    if np.isnan(by_scales[0]):
        return by_spring, []
    note = (
        f"At the taped ride the factory spring as given carries {by_spring[0]:.0f} N, but by the axle's mass the wheel "
        f"bears {by_scales[0]:.0f} N: a reading of the spring, the ride station or the masses is off."
    )
    return by_scales, [note] if abs(by_spring[0] - by_scales[0]) > WEIGHT_DISAGREEMENT * by_scales[0] else []


def _factory_readings(axle: Axle, duty: Duty) -> dict[str, tuple[float, float]]:
    envelope, masses, policy = axle.envelope, axle.masses, axle.policy
    fitted: Fitted = envelope.fitted
    share = policy.crush_share[duty]
    readings = {
        **spring_slots(fitted.spring, policy),
        **strut_slots(fitted.strut, policy),
        **stop_slots(fitted.bump_stop, policy),
        "crush_share": (share.value, share.half_width(0.0)),
        "unsprung_kg": stated(policy, "unsprung_kg_per_wheel", envelope.unsprung_kg_per_wheel),
        "axle_kg": stated(policy, f"{axle.end}_axle_kg", getattr(masses, f"{axle.end}_axle_kg")),
        "axle_rating_kg": stated(policy, f"{axle.end}_axle_rating_kg", getattr(masses, f"{axle.end}_axle_rating_kg")),
        "front_and_rear_kg": _kerb_mass(masses, policy),
        "gross_rating_kg": stated(policy, "gross_rating_kg", masses.gross_rating_kg),
    }
    for joint in JOINTS:
        limit = envelope.limits.get(joint, Limit())
        for name, taped in (
            ("limit", "reached_at_arch_to_hub_mm"),
            ("bump_limit", "reached_in_bump_at_arch_to_hub_mm"),
        ):
            readings[f"{name}_{joint}"] = stated(policy, taped, getattr(limit, taped))
    return readings


def _kerb_mass(masses: VehicleMasses, policy: Policy) -> tuple[float, float]:
    front, rear = (
        stated(policy, "front_axle_kg", masses.front_axle_kg),
        stated(policy, "rear_axle_kg", masses.rear_axle_kg),
    )
    return front[0] + rear[0], front[1] + rear[1]


def _travel_readings(envelope: AxleEnvelope, policy: Policy) -> dict[str, tuple[float, float]]:
    travel = envelope.travel
    prior = policy.prior_motion_ratio[envelope.layout]
    ratio = travel.motion_ratio or prior
    stop_ratio = travel.bump_stop_ratio or policy.prior_bump_stop_ratio
    readings = {
        "motion_ratio": (ratio.value, policy.half_width("motion_ratio", ratio)),
        "bump_stop_ratio": (stop_ratio.value, policy.half_width("bump_stop_ratio", stop_ratio)),
        "beyond_bump": (0.0, policy.extrapolation_share),
        "beyond_droop": (0.0, policy.extrapolation_share),
    }
    for index, station in enumerate(travel.stations):
        for taped in ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm"):
            reading = getattr(station, taped)
            if reading is not None:
                readings[f"/travel/stations/{index}/{taped}"] = stated(policy, taped, reading)
    return readings
