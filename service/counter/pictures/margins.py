"""What is left of each check, worst first: a bar as long as its margin, with its reserve and its uncertainty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.counter.language.reader import Reader
from service.counter.pictures.shapes import (
    GREY,
    INK,
    INKS,
    PALE,
    WHITE,
    Box,
    Drawing,
    Line,
    Outline,
    Shape,
    Text,
    hatched,
    outcome_mark,
)
from service.counter.pictures.travel_marks import COVERAGE, Record

WIDTH, ROW, HEAD, ZERO, LEFT, RIGHT = 360.0, 35.0, 42.0, 108.0, 8.0, 352.0
PER_UNIT = {"mm": 4.0, "deg": 20.0, "kg": 0.5, "mpa": 0.5, "percent": 2.0}
"""How long one unit is drawn: 25 mm are as long as 5 degrees, 200 kg, 200 MPa or 50 per cent."""
Check = Mapping[str, Any]


def margins_drawing(record: Record, reader: Reader, most: int = 99) -> Drawing:
    """The drawing; checks that do not apply to the build are left out. Of more than ``most`` others, clear ones go
    without a bar, and how many is said: a check that is not clear always has one.
    """
    checks, left_out = _with_bars(record, most)
    shapes: list[Shape] = [
        Text(0, 12, reader.say("margins_title"), 13, INK, bold=True),
        Text(ZERO - 4, 32, reader.say("bad_side"), 11, GREY, anchor="end"),
        Text(ZERO + 4, 32, reader.say("good_side"), 11, GREY),
        Line(ZERO, HEAD - 14, ZERO, HEAD - 2, INK, 1),
    ]
    for index, check in enumerate(checks):
        shapes += _row(check, HEAD + ROW * index, reader)
    described = "; ".join(f"{reader.say('check_' + c['check'])}: {_figure(c, reader)}" for c in checks) + "."
    height = HEAD + ROW * len(checks) + 6
    if left_out:
        shapes.append(Text(18, height, reader.say("more_clear", count=left_out), 11, GREY))
    return Drawing(WIDTH, height, reader.say("margins_title"), described, tuple(shapes))


def _with_bars(record: Record, most: int) -> tuple[list[Check], int]:
    """The checks that have a bar, worst first, and how many have none."""
    checks = [check for check in record["checks"] if check["outcome"] != "not_applicable"]
    shown = [check for index, check in enumerate(checks) if index < most or check["outcome"] != "clear"]
    return shown, len(checks) - len(shown)


def _row(check: Check, top: float, reader: Reader) -> Iterator[Shape]:
    ink = INKS[check["outcome"]]
    yield Line(0, top, WIDTH, top, PALE, 0.6)
    yield from outcome_mark(check["outcome"], 7, top + 10, 12)
    bold = check["outcome"] == "unsafe"
    yield Line(ZERO, top + 17, ZERO, top + 32, INK, 1)
    yield Text(18, top + 14, reader.say("check_" + check["check"]), 12, bold=bold)
    yield Text(RIGHT + 6, top + 14, _figure(check, reader), 12, ink, bold=bold, anchor="end")
    if check["margin"] is None and check["outcome"] == "clear":
        yield Text(ZERO + 8, top + 30, reader.say("as_at_factory"), 11, GREY)
    elif check["margin"] is None:
        yield Box(ZERO, top + 20, 60, 9, WHITE, GREY, dashed=True, facts={"margin-of": check["check"]})
        yield Text(ZERO + 30, top + 28, "?", 9, ink, bold=True, anchor="middle")
    else:
        yield from _bar(check, top + 20, ink)


def _bar(check: Check, y: float, ink: str) -> Iterator[Shape]:
    per_unit = PER_UNIT[check["quantity"].rsplit("_", 1)[-1]]
    end, cut = _on_paper(ZERO + check["margin"] * per_unit)
    facts = {"margin-of": check["check"], "margin": check["margin"], "per-unit": per_unit, "cut": int(cut)}
    bar = Box(min(ZERO, end), y, abs(end - ZERO), 9, facts=facts)
    if check["margin"] < 0.0:
        yield from hatched(bar, ink, 4)
    else:
        yield Box(bar.x, bar.y, bar.width, bar.height, ink, facts=facts)
    if cut:
        way = 1 if end > ZERO else -1
        yield Outline(((end, y - 2), (end + way * 6, y + 4.5), (end, y + 11)), ink)
    else:
        yield from _whisker(check, y, per_unit)
    reserve, off = _on_paper(ZERO + (check["reserve"] or 0.0) * per_unit)
    if check["reserve"] and not off:
        asked_for = {"reserve-of": check["check"], "reserve": check["reserve"]}
        yield Line(reserve, y - 3, reserve, y + 12, INK, 2, facts=asked_for)


def _whisker(check: Check, y: float, per_unit: float) -> Iterator[Shape]:
    """How far the margin may be off either way, on a white edge so that it is seen on the bar too."""
    half = COVERAGE * check["standard_uncertainty"] * per_unit
    middle = ZERO + check["margin"] * per_unit
    start, end = _on_paper(middle - half)[0], _on_paper(middle + half)[0]
    if end - start < 1.0:
        return
    yield Box(start - 1, y + 2.5, end - start + 2, 4, WHITE)
    yield Line(start, y + 4.5, end, y + 4.5, INK, 1.5, facts={"uncertainty-of": check["check"]})
    for x in (start, end):
        yield Line(x, y + 1.5, x, y + 7.5, INK, 1.5)


def _on_paper(x: float) -> tuple[float, bool]:
    kept = min(max(x, LEFT), RIGHT - 6)
    return kept, kept != x


def _figure(check: Check, reader: Reader) -> str:
    if check["margin"] is None:
        return reader.say("outcome_" + check["outcome"])
    return reader.figure(check["quantity"], check["margin"], COVERAGE * check["standard_uncertainty"], signed=True)
