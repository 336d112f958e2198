"""Taped stations -> a travel curve and the factory's points on it.

The span that the curve follows is the spring-seat gap where anybody taped one (or where the strut's seat offset turns
its length into one), else the strut's length, else only a relative figure:

    seat gap = span + seat_from_span          strut length = span + damper_from_span

and what is not known is not-a-number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from service.engine.envelope import AxleEnvelope, Station, StationAt
from service.engine.policy import Policy
from service.engine.sensitivity import Array
from service.engine.travel import Curve, curve_through

Readings = Mapping[str, Array]
FAR_MM = 100.0
"""Distance of the made-up second knot of a curve that has one station; any distance gives the same line."""


class Point(NamedTuple):
    """A wheel position in every column: ``arch_to_hub_mm`` and ``span_mm``, both (C,)."""

    arch_to_hub_mm: Array
    span_mm: Array


@dataclass(frozen=True, slots=True)
class TapedTravel:
    """``anchored``: some station has its arch-to-hub, so positions mean what a tape would read."""

    curve: Curve
    points: Mapping[StationAt, Point]
    seat_from_span: Array
    damper_from_span: Array
    anchored: bool
    ratio_assumed: bool
    notes: tuple[str, ...]


def strut_offset(envelope: AxleEnvelope, policy: Policy) -> tuple[tuple[float, float] | None, list[str]]:
    """The factory strut's seat offset as (value, half-width) in mm, and what is odd about it.

    Stated, or taped as the difference of strut length and seat gap at a station. Where both are known the stated one is
    kept, with a half-width that covers what lies between them.
    """
    taped = [
        (s.damper_length_mm.value - s.seat_gap_mm.value, _both_half_widths(s, policy))
        for s in envelope.travel.stations
        if s.damper_length_mm is not None and s.seat_gap_mm is not None
    ]
    mean = (float(np.mean([t[0] for t in taped])), max(t[1] for t in taped)) if taped else None
    strut = envelope.fitted.strut
    if strut is None or strut.seat_offset_mm is None:
        return mean, []
    value, half_width = strut.seat_offset_mm.value, policy.half_width("seat_offset_mm", strut.seat_offset_mm)
    if mean is None:
        return (value, half_width), []
    apart = abs(mean[0] - value)
    note = (
        f"The strut's seat offset is given as {value:g} mm, but its taped lengths less the seat gaps make "
        f"{mean[0]:.1f} mm: the uncertainty was widened to cover both. Tape them again."
    )
    return (value, max(half_width, apart)), [note] if apart > half_width + mean[1] else []


def _both_half_widths(station: Station, policy: Policy) -> float:
    assert station.damper_length_mm is not None  # noqa: S101 - the caller chose stations that have both
    assert station.seat_gap_mm is not None  # noqa: S101
    return policy.half_width("damper_length_mm", station.damper_length_mm) + policy.half_width(
        "seat_gap_mm", station.seat_gap_mm
    )


def compile_travel(envelope: AxleEnvelope, moved: Readings, *, offset_known: bool) -> TapedTravel:
    """The travel curve and the named points of an axle whose readings are ``moved``, name -> (C,)."""
    columns = len(moved["motion_ratio"])
    unknown = np.full(columns, np.nan)
    spans, seat, damper = _spans(envelope, moved, offset_known=offset_known)
    heights = [moved.get(f"/travel/stations/{i}/arch_to_hub_mm") for i in range(len(spans))]
    anchored = any(h is not None for h in heights)
    ratio_given = envelope.travel.motion_ratio is not None
    if not any(span is not None for span in spans):
        origin = next(h for h in heights if h is not None)
        spans = [None if h is None else moved["motion_ratio"] * (h - origin) for h in heights]
    elif not any(h is not None and s is not None for h, s in zip(heights, spans, strict=True)):
        heights = _origin(heights, spans, columns)
    both = sum(h is not None and s is not None for h, s in zip(heights, spans, strict=True))
    if both < 2 or ratio_given:
        heights = _filled_by_ratio(heights, spans, moved["motion_ratio"])
    curve = _curve(heights, spans, moved)
    points: dict[StationAt, Point] = dict.fromkeys(("full_droop", "ride", "bump_contact"), Point(unknown, unknown))
    for station, height, span in zip(envelope.travel.stations, heights, spans, strict=True):
        if station.at in points:
            points[station.at] = _on_curve(curve, height, span)
    notes = [_ratio_note(envelope, moved)] if both < 2 and not ratio_given else []
    return TapedTravel(curve, points, seat, damper, anchored, bool(notes), tuple(notes))


def _spans(envelope: AxleEnvelope, moved: Readings, *, offset_known: bool) -> tuple[list[Array | None], Array, Array]:
    nothing = np.zeros_like(moved["motion_ratio"])
    offset = moved["seat_offset"]
    count = range(len(envelope.travel.stations))
    gaps = [moved.get(f"/travel/stations/{i}/seat_gap_mm") for i in count]
    lengths = [moved.get(f"/travel/stations/{i}/damper_length_mm") for i in count]
    if offset_known:
        gaps = [
            gap if gap is not None or length is None else length - offset
            for gap, length in zip(gaps, lengths, strict=True)
        ]
    if any(gap is not None for gap in gaps):
        return gaps, nothing, nothing + offset
    return lengths, nothing * np.nan, nothing if any(x is not None for x in lengths) else nothing * np.nan


def _origin(heights: list[Array | None], spans: list[Array | None], columns: int) -> list[Array | None]:
    """No station has both readings: count the wheel's travel from the first one that has a span."""
    first = next(i for i, span in enumerate(spans) if span is not None)
    return [np.zeros(columns) if i == first else None for i in range(len(heights))]


def _filled_by_ratio(heights: list[Array | None], spans: list[Array | None], ratio: Array) -> list[Array | None]:
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


def _curve(heights: list[Array | None], spans: list[Array | None], moved: Readings) -> Curve:
    knots = [(h, s) for h, s in zip(heights, spans, strict=True) if h is not None and s is not None]
    knots.sort(key=lambda knot: float(knot[0][0]))
    if len(knots) == 1:
        height, span = knots[0]
        knots.append((height + FAR_MM, span + FAR_MM * moved["motion_ratio"]))
    return curve_through(
        np.stack([h for h, _ in knots], axis=1),
        np.stack([s for _, s in knots], axis=1),
        moved["beyond_bump"],
        moved["beyond_droop"],
    )


def _on_curve(curve: Curve, height: Array | None, span: Array | None) -> Point:
    columns = np.arange(len(curve.anchors_mm))
    if height is not None:
        return Point(height, curve.at(height, columns).span_mm if span is None else span)
    if span is not None:
        return Point(curve.where(span, columns), span)
    unknown = np.full(len(columns), np.nan)
    return Point(unknown, unknown)


def _ratio_note(envelope: AxleEnvelope, moved: Readings) -> str:
    return (
        f"The motion ratio was not measured: {moved['motion_ratio'][0]:.2f} was assumed for a "
        f"{envelope.layout.replace('_', ' ')} axle, with its uncertainty carried through. Tape arch-to-hub at a second "
        "station to replace it."
    )
