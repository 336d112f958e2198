"""Refusing an axle envelope that cannot be true: stations that contradict each other, parts that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from service.engine.envelope import AxleEnvelope, Station, VehicleMasses
from service.engine.plausible import check_part, field_faults
from service.engine.refusal import Fault

ORDER = {"full_droop": 3, "ride": 2, "bump_contact": 1}
"""From bump to droop; a station ``between`` may stand anywhere."""
WORDS = {"full_droop": "full droop", "ride": "ride", "bump_contact": "bump contact", "between": "a station between"}
STEEPEST, FLATTEST = 2.0, 0.1
"""Strut travel over wheel travel outside of which a reading must be wrong (common practice)."""


def check_envelope(envelope: AxleEnvelope, masses: VehicleMasses | None = None) -> list[Fault]:
    """What is wrong with an axle as measured; pointers are relative to the envelope, masses below /vehicle_masses."""
    faults = [*_single_reading_faults(envelope, masses)]
    if not faults:
        faults += _station_faults(envelope.travel.stations)
    return faults


def _single_reading_faults(envelope: AxleEnvelope, masses: VehicleMasses | None) -> Iterator[Fault]:
    yield from field_faults(envelope)
    yield from field_faults(envelope.travel, "/travel")
    for index, station in enumerate(envelope.travel.stations):
        yield from field_faults(station, f"/travel/stations/{index}")
    for slot in ("spring", "strut", "bump_stop"):
        part = getattr(envelope.fitted, slot)
        if part is not None:
            yield from (fault.below(f"/fitted/{slot}") for fault in check_part(part, complete=False))
    for joint, limit in envelope.limits.items():
        yield from field_faults(limit, f"/limits/{joint}")
    if masses is not None:
        yield from field_faults(masses, "/vehicle_masses")


def _station_faults(stations: tuple[Station, ...]) -> Iterator[Fault]:
    if not stations:
        yield Fault(
            "/travel/stations", "Tape at least one station: the seat gap at full droop and with the stop just touching."
        )
    seen: dict[str, int] = {}
    for index, station in enumerate(stations):
        if station.at in seen and station.at != "between":
            yield Fault(f"/travel/stations/{index}/at", f"There are two stations at {WORDS[station.at]}.")
        seen[station.at] = index
        if station.arch_to_hub_mm is None and station.seat_gap_mm is None and station.damper_length_mm is None:
            yield Fault(f"/travel/stations/{index}", "Nothing was taped at this station.")
    for field, what in (
        ("arch_to_hub_mm", "arch-to-hub"),
        ("seat_gap_mm", "seat gap"),
        ("damper_length_mm", "strut length"),
    ):
        yield from _order_faults(stations, field, what)
    yield from _slope_faults(stations)


def _order_faults(stations: tuple[Station, ...], field: str, what: str) -> Iterator[Fault]:
    """Named stations must fall from droop to bump in every reading that they have."""
    read = [
        (ORDER[s.at], i, s.at, getattr(s, field).value)
        for i, s in enumerate(stations)
        if s.at in ORDER and getattr(s, field)
    ]
    for (_, lower, lower_at, less), (_, upper, upper_at, more) in pairwise(sorted(read)):
        if less >= more:
            yield Fault(
                f"/travel/stations/{max(lower, upper)}/{field}",
                f"The {what} at {WORDS[lower_at]} ({less:g} mm) must be less than at {WORDS[upper_at]} ({more:g} mm): "
                "it shrinks as the wheel rises.",
            )


def _slope_faults(stations: tuple[Station, ...]) -> Iterator[Fault]:
    """From station to station, by arch-to-hub, the strut must lengthen, and by about as much as the wheel drops."""
    for field, what in (("seat_gap_mm", "seat gap"), ("damper_length_mm", "strut length")):
        read = [
            (s.arch_to_hub_mm.value, getattr(s, field).value, i)
            for i, s in enumerate(stations)
            if s.arch_to_hub_mm and getattr(s, field)
        ]
        for (h, span, _), (next_h, next_span, index) in pairwise(sorted(read)):
            pointer = f"/travel/stations/{index}"
            if next_h == h:
                yield Fault(f"{pointer}/arch_to_hub_mm", f"Two stations have the same arch-to-hub of {h:g} mm.")
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
