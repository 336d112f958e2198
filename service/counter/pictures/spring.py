"""The spring with the wheel pushed up: the room between its seats against its length when all windings touch."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from service.counter.language.reader import Reader
from service.counter.pictures.shapes import (
    GREY,
    INK,
    INKS,
    PALE,
    RED,
    WHITE,
    Box,
    Disc,
    Drawing,
    Line,
    Shape,
    Text,
    hatched,
    outcome_mark,
)
from service.counter.pictures.travel_marks import COVERAGE, Record

WIDTH, HEIGHT, FLOOR, ROOM = 360.0, 330.0, 286.0, 204.0
SPRING_X, SPRING_WIDTH, BLOCK_X, BLOCK_WIDTH, WORDS_X = 60.0, 84.0, 186.0, 24.0, 222.0
WINDINGS = 8
"""As many are drawn, whatever the spring has: the record tells its solid length, and that is drawn to scale."""


@dataclass(frozen=True, slots=True)
class Room:
    """What is between the seats at a position, and what the spring needs there when it is solid, mm."""

    at: str
    seat_gap_mm: float
    solid_length_mm: float
    plus_minus_mm: float
    outcome: str

    @property
    def left_mm(self) -> float:
        return self.seat_gap_mm - self.solid_length_mm


def room(record: Record) -> Room | None:
    """The room at full bump, or at bump contact where full bump is not known; none of an axle without coils."""
    check = next((each for each in record["checks"] if each["check"] == "coil_bind"), None)
    if check is None or check["details"].get("solid_length_mm") is None:
        return None
    at, gap = _gap(check["details"])
    if gap is None:
        return None
    spread = check["standard_uncertainty"] or 0.0
    return Room(at, gap, check["details"]["solid_length_mm"], COVERAGE * spread, check["outcome"])


def _gap(details: Mapping[str, Any]) -> tuple[str, float | None]:
    if details.get("seat_gap_mm") is not None:
        return "full_bump", details["seat_gap_mm"]
    return "bump_contact", details.get("seat_gap_at_bump_contact_mm")


def spring_drawing(record: Record, reader: Reader) -> Drawing | None:
    """The drawing, or none where the record does not tell the solid length and a seat gap."""
    there = room(record)
    if there is None:
        return None
    scale = ROOM / max(there.seat_gap_mm, there.solid_length_mm)
    title = reader.say("spring_title_" + there.at)
    figures = {
        "gap": reader.figure_as_exact("gap_mm", there.seat_gap_mm, there.plus_minus_mm),
        "solid": reader.figure_as_exact("solid_mm", there.solid_length_mm, there.plus_minus_mm),
        "left": reader.figure("left_mm", there.left_mm, there.plus_minus_mm or None, signed=True),
        "by": reader.figure("left_mm", abs(there.left_mm), there.plus_minus_mm or None),
    }
    shapes = (
        Text(0, 12, title, 13, INK, bold=True),
        *_seats(there, scale),
        *_windings(there, scale),
        *_block(there, scale),
        *_call_out(there, scale, reader, figures),
    )
    return Drawing(WIDTH, HEIGHT, title, reader.say("spring_described", **figures), shapes)


def _seats(there: Room, scale: float) -> Iterator[Shape]:
    upper = FLOOR - there.seat_gap_mm * scale
    facts = {"seat-gap-mm": there.seat_gap_mm}
    yield Box(SPRING_X - 4, upper, SPRING_WIDTH + 8, FLOOR - upper, WHITE, facts=facts)
    if there.plus_minus_mm:
        half = there.plus_minus_mm * scale
        yield Box(SPRING_X - 26, upper - half, SPRING_WIDTH + 52, 2 * half, PALE, facts={"band": "seat_gap"})
    for y in (upper, FLOOR):
        yield Line(SPRING_X - 26, y, SPRING_X + SPRING_WIDTH + 26, y, INK, 4)
    arrow = SPRING_X - 18
    yield Line(arrow, upper + 3, arrow, FLOOR - 3, GREY, 1)
    for y, way in ((upper + 3, 1), (FLOOR - 3, -1)):
        yield Line(arrow, y, arrow - 3, y + way * 6, GREY)
        yield Line(arrow, y, arrow + 3, y + way * 6, GREY)


def _windings(there: Room, scale: float) -> Iterator[Shape]:
    """The wire cut through: its discs are stacked when the spring is solid, else spread over the seat gap."""
    radius = there.solid_length_mm * scale / WINDINGS / 2
    taken = max(there.seat_gap_mm, there.solid_length_mm) * scale
    step = (taken - 2 * radius) / (WINDINGS - 1)
    ink = RED if there.left_mm < 0.0 else INK
    for index in range(WINDINGS):
        y = FLOOR - radius - index * step
        yield Disc(SPRING_X + radius, y, radius - 0.5, PALE, ink)
        if index < WINDINGS - 1:  # half a winding on, the wire has come round to the other side
            yield Disc(SPRING_X + SPRING_WIDTH - radius, y - step / 2, radius - 0.5, PALE, ink)


def _block(there: Room, scale: float) -> Iterator[Shape]:
    """The solid length beside the seats: what sticks out above the upper seat, or the gap that is left below it."""
    upper, top = FLOOR - there.seat_gap_mm * scale, FLOOR - there.solid_length_mm * scale
    facts = {"solid-length-mm": there.solid_length_mm}
    yield Box(BLOCK_X, top, BLOCK_WIDTH, FLOOR - top, PALE, INK, facts=facts)
    yield Line(SPRING_X + SPRING_WIDTH + 26, upper, BLOCK_X + BLOCK_WIDTH + 8, upper, INK, 1, dashed=True)
    left = Box(BLOCK_X, min(upper, top), BLOCK_WIDTH, abs(upper - top), facts={"coil-gap-mm": round(there.left_mm, 4)})
    if there.left_mm < 0.0:
        yield from hatched(left, RED, 4)
    else:
        yield Box(left.x, left.y, left.width, left.height, "", GREY, dashed=True, facts=left.facts)


def _call_out(there: Room, scale: float, reader: Reader, figures: Mapping[str, str]) -> Iterator[Shape]:
    middle = FLOOR - (there.seat_gap_mm + there.solid_length_mm) / 2 * scale
    ink = INKS[there.outcome]
    yield Line(BLOCK_X + BLOCK_WIDTH, middle, WORDS_X + 8, middle, GREY, 0.6)
    yield from outcome_mark(there.outcome, WORDS_X + 14, middle, 14)
    what = reader.say("too_long" if there.left_mm < 0.0 else "gap_left")
    yield Text(WORDS_X + 26, middle + 4, what, 12, ink, bold=True)
    yield Text(WORDS_X + 26, middle + 20, figures["by"], 13, ink, bold=True)
    yield Text(WORDS_X, FLOOR - 60, reader.say("solid_length"), 12, GREY)
    yield Text(WORDS_X, FLOOR - 44, figures["solid"], 12)
    yield Text(SPRING_X - 26, FLOOR + 20, f"{reader.say('seat_gap')} {figures['gap']}", 12)
