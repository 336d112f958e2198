"""Taped stations -> travel curves and the factory's points on them.

A curve follows a span, mm: a reading of the tape, up to a fixed offset that may be unknown.

    seat gap = span of the seat curve + seat_from_span
    strut length = span of the damper curve + damper_from_span

On a strut both are one curve: the spring-seat gap where anybody taped one, else the strut's length, else only a
relative figure. On other axles spring and damper are taped apart. What is not known is not-a-number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.envelope import AxleEnvelope, Station, StationAt
from service.engine.layouts import LAYOUTS
from service.engine.policy import Policy
from service.engine.sensitivity import Array
from service.engine.travel import Curve, CurveSet, curve_through

Readings = Mapping[str, Array]
Taped = list[Array | None]
"""A reading at each station, (C,), or none where it was not taped."""
SIGNED = ("camber", "toe", "plunge", "hose_span")
"""What the curves of a survey hold as it is; of the joints' angles, which are never negative, they hold the square."""
FAR_MM = 100.0
"""Distance of the made-up second knot of a curve that has one station; any distance gives the same line."""


class Point(NamedTuple):
    """A wheel position in every column: ``arch_to_hub_mm`` and ``span_mm`` of the damper curve, both (C,)."""

    arch_to_hub_mm: Array
    span_mm: Array


@dataclass(frozen=True, slots=True)
class Surveyed:
    """What only a survey tells: what follows the wheel over arch-to-hub (angles squared), the gap left to the
    bump stop, and the arch-to-hub at which the linkage locks towards bump and towards droop (C,), infinite where it
    does not within the swing of the arm that was looked at. ``holds_spacer``: the curves have the top spacer in them.
    """

    angles: CurveSet
    stop_gap: Curve | None
    locks_mm: tuple[Array, Array]
    holds_spacer: bool

    def at(self, arch_to_hub_mm: Array, column: NDArray[np.intp]) -> dict[str, Array]:
        """Angles of the joints, camber and toe in degrees, plunge and hose span in mm, at wheel positions (..., K)."""
        told = self.angles.at(arch_to_hub_mm, column)
        return {name: values if name in SIGNED else np.sqrt(np.maximum(values, 0.0)) for name, values in told.items()}


@dataclass(frozen=True, slots=True)
class TravelCurves:
    """``anchored``: some station has its arch-to-hub, so positions mean what a tape would read.

    ``tyre_gap`` follows the gap between tyre and body where that was taped at two stations or more.
    """

    damper: Curve
    seat: Curve
    points: Mapping[StationAt, Point]
    damper_from_span: Array
    seat_from_span: Array
    anchored: bool
    ratio_assumed: bool
    notes: tuple[str, ...]
    tyre_gap: Curve | None = None
    surveyed: Surveyed | None = None


def strut_offset(envelope: AxleEnvelope, policy: Policy) -> tuple[tuple[float, float] | None, list[str]]:
    """The factory strut's seat offset as (value, half-width) in mm, and what is odd about it.

    Stated, or taped as the difference of strut length and seat gap at a station, with a half-width that covers what was
    taped at each. Where both are known the stated one is kept, with one that covers what lies between them.
    """
    taped = [
        (s.damper_length_mm.value - s.seat_gap_mm.value, _both_half_widths(s, policy))
        for s in envelope.travel.stations
        if s.damper_length_mm is not None and s.seat_gap_mm is not None
    ]
    as_taped = [offset for offset, _ in taped]
    tape = max((half_width for _, half_width in taped), default=0.0)
    strut = envelope.fitted.strut
    if strut is None or strut.seat_offset_mm is None:
        if not taped:
            return None, []
        mean = float(np.mean(as_taped))
        return (mean, max(tape, *(abs(offset - mean) for offset in as_taped))), []
    value, half_width = strut.seat_offset_mm.value, policy.half_width("seat_offset_mm", strut.seat_offset_mm)
    farthest = max(as_taped, key=lambda offset: abs(offset - value), default=value)
    apart = abs(farthest - value)
    note = (
        f"The strut's seat offset is given as {value:g} mm, but its taped lengths less the seat gaps make "
        f"{farthest:.1f} mm: the uncertainty was widened to cover both. Tape them again."
    )
    return (value, max(half_width, apart)), [note] if apart > half_width + tape else []


def _both_half_widths(station: Station, policy: Policy) -> float:
    assert station.damper_length_mm is not None  # noqa: S101 - the caller chose stations that have both
    assert station.seat_gap_mm is not None  # noqa: S101
    return policy.half_width("damper_length_mm", station.damper_length_mm) + policy.half_width(
        "seat_gap_mm", station.seat_gap_mm
    )


def taped(envelope: AxleEnvelope, moved: Readings, field: str) -> Taped:
    """A reading at every station, as moved."""
    return [moved.get(f"/travel/stations/{i}/{field}") for i in range(len(envelope.travel.stations))]


def compile_travel(envelope: AxleEnvelope, moved: Readings) -> TravelCurves:
    """The travel curves and the named points of an axle whose readings are ``moved``, name -> (C,)."""
    traits = LAYOUTS[envelope.layout]
    if traits.strut:
        spans, seat, damper = _strut_spans(envelope, moved)
        curve = _TapedCurve(envelope, moved, spans)
        return curve.travel(curve.curve, seat, damper)
    lengths = taped(envelope, moved, "damper_length_mm")
    on_damper = _TapedCurve(envelope, moved, lengths)
    zero, unknown = np.zeros_like(moved["motion_ratio"]), np.full_like(moved["motion_ratio"], np.nan)
    gaps = taped(envelope, moved, "seat_gap_mm")
    if traits.spring != "coil" or not _any(gaps):
        return on_damper.travel(on_damper.curve, unknown, zero if _any(lengths) else unknown)
    on_seat = _TapedCurve(envelope, moved, gaps)
    if not (on_damper.anchored and on_seat.anchored):
        on_damper, on_seat = _on_one_scale(envelope, moved, on_damper, on_seat)
    travel = on_damper.travel(
        on_seat.curve, zero if on_seat.is_taped else unknown, zero if on_damper.is_taped else unknown
    )
    if on_seat.is_taped and on_seat.ratio_assumed and not travel.ratio_assumed:
        return replace(travel, ratio_assumed=True, notes=(*travel.notes, _ratio_note(envelope, moved)))
    return travel


def _on_one_scale(
    envelope: AxleEnvelope, moved: Readings, damper: _TapedCurve, seat: _TapedCurve
) -> tuple[_TapedCurve, _TapedCurve]:
    """The curves of spring and damper by the same arch-to-hub: where only one of them has it, or counts from a station
    of its own, the other one is placed by it. Without a station that both have, nothing is known of the other.
    """
    if damper.anchored or (damper.is_taped and not seat.anchored):
        return damper, _TapedCurve(envelope, moved, seat.taped_spans, damper)
    return _TapedCurve(envelope, moved, damper.taped_spans, seat), seat


def leaf_travel(curves: TravelCurves, camber_at_ride_mm: Array) -> TravelCurves:
    """The same with a seat curve for leaves: their camber follows the wheel one to one from its value at ride."""
    ride = curves.points["ride"].arch_to_hub_mm
    knots = np.stack([ride - FAR_MM, ride + FAR_MM], axis=1)
    straight = np.zeros_like(ride)
    line = curve_through(knots, knots - ride[:, None], straight, straight)
    return TravelCurves(
        curves.damper, line, curves.points, curves.damper_from_span, camber_at_ride_mm,
        curves.anchored, curves.ratio_assumed, curves.notes, curves.tyre_gap,
    )  # fmt: skip


def _any(readings: Taped) -> bool:
    return any(reading is not None for reading in readings)


def _strut_spans(envelope: AxleEnvelope, moved: Readings) -> tuple[Taped, Array, Array]:
    """Span at each station, and what turns it into seat gap and strut length."""
    offset, nothing = moved["seat_offset"], np.zeros_like(moved["motion_ratio"])
    gaps, lengths = (taped(envelope, moved, field) for field in ("seat_gap_mm", "damper_length_mm"))
    if not np.isnan(offset[0]):
        gaps = [
            gap if gap is not None or length is None else length - offset
            for gap, length in zip(gaps, lengths, strict=True)
        ]
    if _any(gaps):
        return gaps, nothing, nothing + offset
    return lengths, nothing * np.nan, nothing if _any(lengths) else nothing * np.nan


class _TapedCurve:
    """One curve through the stations that have both readings, with arch-to-hub filled in where the ratio must.

    With a ``scale`` the stations stand where that curve has them. ``is_taped``: the spans are readings, and not made up
    to have a curve at all.
    """

    def __init__(self, envelope: AxleEnvelope, moved: Readings, spans: Taped, scale: _TapedCurve | None = None) -> None:
        self.envelope, self.moved, self.taped_spans = envelope, moved, spans
        heights: Taped = taped(envelope, moved, "arch_to_hub_mm") if scale is None else scale.placed()
        self.anchored: bool = _any(heights) if scale is None else scale.anchored
        if scale is not None and not any(h is not None and s is not None for h, s in zip(heights, spans, strict=True)):
            spans = [None] * len(spans)
        self.is_taped = _any(spans)
        ratio, ratio_given = moved["motion_ratio"], envelope.travel.motion_ratio is not None
        if not _any(spans):
            origin = next((h for h in heights if h is not None), np.zeros_like(ratio))
            heights = heights if _any(heights) else [origin, *heights[1:]]
            spans = [None if h is None else ratio * (h - origin) for h in heights]
        elif not any(h is not None and s is not None for h, s in zip(heights, spans, strict=True)):
            heights, self.anchored = _origin(heights, spans), False
        both = sum(h is not None and s is not None for h, s in zip(heights, spans, strict=True))
        self.ratio_assumed = both < 2 and not ratio_given
        if both < 2 or ratio_given:
            heights = _filled_by_ratio(heights, spans, ratio)
        self.heights, self.spans = heights, spans
        self.curve = _curve(heights, spans, moved)

    def placed(self) -> Taped:
        """Where each station is, as far as this curve tells."""
        return [
            None if height is None and span is None else self._point(height, span).arch_to_hub_mm
            for height, span in zip(self.heights, self.spans, strict=True)
        ]

    def travel(self, seat: Curve, seat_from_span: Array, damper_from_span: Array) -> TravelCurves:
        """All that an axle's travel is, with this as the damper's curve."""
        unknown = np.full_like(seat_from_span, np.nan)
        points: dict[StationAt, Point] = dict.fromkeys(("full_droop", "ride", "bump_contact"), Point(unknown, unknown))
        for station, height, span in zip(self.envelope.travel.stations, self.heights, self.spans, strict=True):
            if station.at in points:
                points[station.at] = self._point(height, span)
        notes = (_ratio_note(self.envelope, self.moved),) if self.ratio_assumed else ()
        return TravelCurves(
            self.curve, seat, points, damper_from_span, seat_from_span,
            self.anchored, self.ratio_assumed, notes, _tyre_gap(self.envelope, self.moved),
        )  # fmt: skip

    def _point(self, height: Array | None, span: Array | None) -> Point:
        columns = np.arange(len(self.curve.anchors_mm))
        if height is not None:
            return Point(height, self.curve.at(height, columns).span_mm if span is None else span)
        if span is not None:
            return Point(self.curve.where(span, columns), span)
        unknown = np.full(len(columns), np.nan)
        return Point(unknown, unknown)


def _origin(heights: Taped, spans: Taped) -> Taped:
    """No station has both readings: count the wheel's travel from the first one that has a span."""
    first = next(i for i, span in enumerate(spans) if span is not None)
    return [np.zeros_like(spans[first]) if i == first else None for i in range(len(heights))]


def _filled_by_ratio(heights: Taped, spans: Taped, ratio: Array) -> Taped:
    """Arch-to-hub of stations that lack it and lie outside of those that have it, by the motion ratio."""
    knots = sorted(
        ((s, h) for h, s in zip(heights, spans, strict=True) if h is not None and s is not None),
        key=lambda knot: float(knot[0][0]),
    )
    (low_span, low_height), (high_span, high_height) = knots[0], knots[-1]
    filled = list(heights)
    for i, span in enumerate(spans):
        if heights[i] is None and span is not None and span[0] < low_span[0]:
            filled[i] = low_height + (span - low_span) / ratio
        elif heights[i] is None and span is not None and span[0] > high_span[0]:
            filled[i] = high_height + (span - high_span) / ratio
    return filled


def _knots(heights: Taped, spans: Taped) -> tuple[Array, Array]:
    knots = [(h, s) for h, s in zip(heights, spans, strict=True) if h is not None and s is not None]
    knots.sort(key=lambda knot: float(knot[0][0]))
    return np.stack([h for h, _ in knots], axis=1), np.stack([s for _, s in knots], axis=1)


def _curve(heights: Taped, spans: Taped, moved: Readings) -> Curve:
    knots, at_knots = _knots(heights, spans)
    if knots.shape[1] == 1:
        knots = np.hstack([knots, knots + FAR_MM])
        at_knots = np.hstack([at_knots, at_knots + FAR_MM * moved["motion_ratio"][:, None]])
    return curve_through(knots, at_knots, moved["beyond_bump"], moved["beyond_droop"])


def _tyre_gap(envelope: AxleEnvelope, moved: Readings) -> Curve | None:
    """The tyre's gap over arch-to-hub; it may grow or shrink with the wheel's drop."""
    heights, gaps = (taped(envelope, moved, field) for field in ("arch_to_hub_mm", "tyre_gap_mm"))
    if sum(h is not None and g is not None for h, g in zip(heights, gaps, strict=True)) < 2:
        return None
    return curve_through(*_knots(heights, gaps), moved["beyond_bump"], moved["beyond_droop"], rising=False)


def _ratio_note(envelope: AxleEnvelope, moved: Readings) -> str:
    return (
        f"The motion ratio was not measured: {moved['motion_ratio'][0]:.2f} was assumed for a "
        f"{LAYOUTS[envelope.layout].called}, with its uncertainty carried through. Tape arch-to-hub at a second "
        "station to replace it."
    )
