"""Refusing an axle envelope that cannot be true: stations that contradict each other, parts that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from itertools import pairwise

from service.engine.envelope import AxleEnvelope, End, Station, VehicleMasses
from service.engine.plausible import check_part, field_faults
from service.engine.plausible_survey import check_survey
from service.engine.refusal import Fault

ORDER = {"full_droop": 3, "ride": 2, "bump_contact": 1}
"""From bump to droop; a station ``between`` may stand anywhere."""
WORDS = {"full_droop": "full droop", "ride": "ride", "bump_contact": "bump contact", "between": "a station between"}
Values = list[float | None]
LEAST_APART_MM = 1.0
LEAST_SPANS_APART_MM = 0.5
"""No tape tells less: stations placed by their spans alone would stand on each other."""
STEEPEST, FLATTEST = 2.0, 0.1
"""Strut travel over wheel travel outside of which a reading must be wrong (common practice)."""


def check_envelope(envelope: AxleEnvelope, masses: VehicleMasses | None = None, end: End | None = None) -> list[Fault]:
    """What is wrong with an axle as measured; pointers are relative to the envelope, masses below /vehicle_masses."""
    faults = [*_single_reading_faults(envelope, masses)]
    if not faults:
        faults += check_survey(envelope) if envelope.travel.hard_points is not None else _station_faults(envelope)
        faults += _mass_faults(envelope, masses, end)
    return faults


def _mass_faults(envelope: AxleEnvelope, masses: VehicleMasses | None, end: End | None) -> Iterator[Fault]:
    unsprung = envelope.unsprung_kg_per_wheel
    by_end = {"front": masses.front_axle_kg, "rear": masses.rear_axle_kg} if masses else {}
    kerb = [mass for at, mass in by_end.items() if mass and end in (None, at)]
    if unsprung and kerb and 2.0 * unsprung.value >= max(m.value for m in kerb):
        yield Fault("/unsprung_kg_per_wheel", "Two such wheels weigh more than the axle with all that it carries.")


def _single_reading_faults(envelope: AxleEnvelope, masses: VehicleMasses | None) -> Iterator[Fault]:
    yield from field_faults(envelope)
    yield from field_faults(envelope.travel, "/travel")
    for index, station in enumerate(envelope.travel.stations):
        yield from field_faults(station, f"/travel/stations/{index}")
    for slot in (field.name for field in fields(envelope.fitted)):
        part = getattr(envelope.fitted, slot)
        if part is not None:
            yield from (fault.below(f"/fitted/{slot}") for fault in check_part(part, complete=False))
    for joint, limit in envelope.limits.items():
        yield from field_faults(limit, f"/limits/{joint}")
    if masses is not None:
        yield from field_faults(masses, "/vehicle_masses")


def _station_faults(envelope: AxleEnvelope) -> Iterator[Fault]:
    stations = envelope.travel.stations
    if not stations:
        yield Fault(
            "/travel/stations",
            "Tape at least one station: the seat gap at full droop and with the bump stop just touching.",
        )
    seen: dict[str, int] = {}
    for index, station in enumerate(stations):
        if station.at in seen and station.at != "between":
            yield Fault(f"/travel/stations/{index}/at", f"There are two stations at {WORDS[station.at]}.")
        seen[station.at] = index
        if not (station.arch_to_hub_mm or station.seat_gap_mm or station.damper_length_mm or station.tyre_gap_mm):
            yield Fault(f"/travel/stations/{index}", "Nothing was taped at this station.")
    heights = [s.arch_to_hub_mm.value if s.arch_to_hub_mm else None for s in stations]
    yield from _order_faults(stations, heights, "arch_to_hub_mm", "arch-to-hub")
    for field, what, spans in _taped_spans(envelope):
        yield from _order_faults(stations, spans, field, what)
        yield from _slope_faults(heights, spans, field, what)
        yield from _same_place_faults(heights, spans, field, what)
    gaps: Values = [s.tyre_gap_mm.value if s.tyre_gap_mm else None for s in stations]
    yield from _same_height_faults([h if g is not None else None for h, g in zip(heights, gaps, strict=True)])


def _same_place_faults(heights: Values, spans: Values, field: str, what: str) -> Iterator[Fault]:
    """Stations whose arch-to-hub nobody taped are placed by their spans, which must differ then."""
    without = sorted((s, i) for i, (h, s) in enumerate(zip(heights, spans, strict=True)) if h is None and s is not None)
    for (span, _), (next_span, index) in pairwise(without):
        if next_span - span < LEAST_SPANS_APART_MM:
            yield Fault(
                f"/travel/stations/{index}/{field}",
                f"Two stations without arch-to-hub have the same {what} of {span:g} mm, or nearly: tape their "
                "arch-to-hub, or leave one out.",
            )


def _same_height_faults(heights: Values) -> Iterator[Fault]:
    read = sorted((h, i) for i, h in enumerate(heights) if h is not None)
    for (h, _), (next_h, index) in pairwise(read):
        if next_h - h < LEAST_APART_MM:
            yield _too_near(h, index)


def _too_near(height: float, index: int) -> Fault:
    return Fault(
        f"/travel/stations/{index}/arch_to_hub_mm",
        f"Two stations have the same arch-to-hub of {height:g} mm, or nearly: tape them further apart.",
    )


def _taped_spans(envelope: AxleEnvelope) -> Iterator[tuple[str, str, Values]]:
    """Seat gaps and strut lengths by station; a seat gap that the strut's offset gives counts as taped."""
    stations, strut = envelope.travel.stations, envelope.fitted.strut
    lengths: Values = [s.damper_length_mm.value if s.damper_length_mm else None for s in stations]
    gaps: Values = [s.seat_gap_mm.value if s.seat_gap_mm else None for s in stations]
    yield "damper_length_mm", "strut length", lengths
    yield "seat_gap_mm", "seat gap", gaps
    if strut is not None and strut.seat_offset_mm is not None and None in gaps and any(gaps):
        offset = strut.seat_offset_mm.value
        both = [g if g is not None or n is None else n - offset for g, n in zip(gaps, lengths, strict=True)]
        yield "damper_length_mm", "seat gap (strut length less the seat offset)", both


def _order_faults(stations: tuple[Station, ...], values: Values, field: str, what: str) -> Iterator[Fault]:
    """Named stations must fall from droop to bump in every reading that they have."""
    read = [
        (ORDER[s.at], i, s.at, v)
        for i, (s, v) in enumerate(zip(stations, values, strict=True))
        if s.at in ORDER and v is not None
    ]
    for (_, lower, lower_at, less), (_, upper, upper_at, more) in pairwise(sorted(read)):
        if less >= more:
            yield Fault(
                f"/travel/stations/{max(lower, upper)}/{field}",
                f"The {what} at {WORDS[lower_at]} ({less:g} mm) must be less than at {WORDS[upper_at]} ({more:g} mm): "
                "it shrinks as the wheel rises.",
            )


def _slope_faults(heights: Values, spans: Values, field: str, what: str) -> Iterator[Fault]:
    """From station to station, by arch-to-hub, the strut must lengthen, and by about as much as the wheel drops."""
    read = [(h, s, i) for i, (h, s) in enumerate(zip(heights, spans, strict=True)) if h is not None and s is not None]
    for (h, span, _), (next_h, next_span, index) in pairwise(sorted(read)):
        pointer = f"/travel/stations/{index}"
        if next_h - h < LEAST_APART_MM:
            yield _too_near(h, index)
        elif next_span <= span:
            yield Fault(
                f"{pointer}/{field}",
                f"The {what} must grow as the wheel drops: {span:g} mm at {h:g}, {next_span:g} mm at {next_h:g}.",
            )
        elif not FLATTEST <= (next_span - span) / (next_h - h) <= STEEPEST:
            yield Fault(
                f"{pointer}/{field}",
                f"From {h:g} to {next_h:g} mm of arch-to-hub the {what} changes by {next_span - span:g} mm: "
                "no strut does that; one of the readings is wrong.",
            )
