"""The wheel's travel in true scale: factory and build side by side, with everything that ends it.

arch mark ====
           ~     broken here; below, the scale is the same for both
full bump  +-+
contact    | |   each bar is what the wheel's centre travels
ride       |o|
full droop +-+
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

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
    Facts,
    Line,
    Shape,
    Text,
    hatched,
    outcome_mark,
)
from service.counter.pictures.travel_marks import Mark, Record, ends, positions

WIDTH, HEIGHT, TOP, BOTTOM = 360.0, 440.0, 76.0, 398.0
FACTORY_X, BUILD_X, BAR, LABELS_X = 52.0, 124.0, 22.0, 178.0
APART = 16.0
ORDER = ("full_bump", "bump_contact", "ride", "full_droop")
Places = Mapping[str, Mark]


@dataclass(frozen=True, slots=True)
class Scale:
    """From heights to places on the paper."""

    least_mm: float
    per_mm: float

    def y(self, height_mm: float) -> float:
        return TOP + (height_mm - self.least_mm) * self.per_mm


@dataclass(frozen=True, slots=True)
class Label:
    text: str
    y: float
    outcome: str
    bold: bool


def travel_drawing(record: Record, factory: Record | None, reader: Reader) -> Drawing | None:
    """The drawing, or none where no arch-to-hub is known."""
    build, stock = positions(record), positions(factory) if factory else {}
    stops = ends(record)
    marks = [*build.values(), *stock.values(), *stops]
    if len(build) < 2:
        return None
    least = min(mark.height_mm - mark.plus_minus_mm for mark in marks)
    greatest = max(mark.height_mm + mark.plus_minus_mm for mark in marks)
    scale = Scale(least, (BOTTOM - TOP) / (greatest - least))
    shapes = (
        *_frame(reader, scale, with_factory=bool(stock)),
        *_bar(stock, FACTORY_X, scale),
        *_figures(stock, scale, reader),
        *_bar(build, BUILD_X, scale),
        *(shape for stop in stops for shape in _end(stop, scale)),
        *_labels(build, stops, scale, reader),
    )
    return Drawing(WIDTH, HEIGHT, reader.say("travel_title"), _described(build, stops, reader), shapes)


def _frame(reader: Reader, scale: Scale, *, with_factory: bool) -> Iterator[Shape]:
    right = BUILD_X + BAR
    yield Text(LABELS_X, 45, reader.say("arch_mark"), 12, GREY)
    yield Line(FACTORY_X - BAR, 41, right + 20, 41, INK, 3)
    for x in (FACTORY_X, BUILD_X) if with_factory else (BUILD_X,):
        yield Line(x, 41, x, 52, GREY)
        yield Line(x, 52, x + 5, 55, GREY)
        yield Line(x + 5, 55, x - 5, 61, GREY)
        yield Line(x - 5, 61, x, 64, GREY)
        yield Line(x, 64, x, TOP - 4, GREY)
    if with_factory:
        yield Text(FACTORY_X, 28, reader.say("factory"), 12, INK, anchor="middle")
    yield Text(BUILD_X, 28, reader.say("this_build"), 12, INK, bold=True, anchor="middle")
    yield Text(0, 12, reader.say("travel_title"), 13, INK, bold=True)
    stick_mm = 25.4 if reader.imperial else 50.0
    yield Line(4, 424, 4 + stick_mm * scale.per_mm, 424, INK, 2, facts={"scale-mm": stick_mm})
    yield Text(10 + stick_mm * scale.per_mm, 428, reader.say("scale", length=_length(reader, stick_mm)), 11, GREY)


def _bar(places: Places, x: float, scale: Scale) -> Iterator[Shape]:
    """What the wheel's centre travels; the part in which the stop is crushed is hatched, bands are uncertainty."""
    if "full_droop" not in places:
        return
    bottom = scale.y(places["full_droop"].height_mm)
    highest = next(places[name] for name in ORDER if name in places)
    top, left = scale.y(highest.height_mm), x - BAR / 2
    column = "build" if x == BUILD_X else "factory"
    for mark in places.values():
        yield _band(mark, left - 5, BAR + 10, scale)
    yield Box(left, top, BAR, bottom - top, WHITE, INK, facts={"travel": column})
    if "full_bump" in places and "bump_contact" in places:
        contact = scale.y(places["bump_contact"].height_mm)
        yield from hatched(Box(left, top, BAR, contact - top), GREY, 6)
    elif "full_bump" not in places:
        yield Box(left, top - 18, BAR, 18, "", GREY, dashed=True)
        yield Text(x, top - 5, "?", 12, GREY, bold=True, anchor="middle")
    for name, mark in places.items():
        y = scale.y(mark.height_mm)
        facts: Facts = {"at": name, "column": column, "mm": mark.height_mm}
        yield Line(left - 4, y, left + BAR + 4, y, INK, 2, facts=facts)
        if name == "ride":
            yield Disc(x, y, 6, WHITE, INK)
            yield Disc(x, y, 2, INK)


def _band(mark: Mark, x: float, width: float, scale: Scale, fill: str = PALE) -> Box:
    top, bottom = (scale.y(mark.height_mm + way * mark.plus_minus_mm) for way in (-1, 1))
    return Box(x, top, width, bottom - top, fill, facts={"band": mark.name})


def _end(stop: Mark, scale: Scale) -> Iterator[Shape]:
    """A thick line where something ends, and the travel beyond it, which the wheel must not have, hatched."""
    ink, y, left = INKS[stop.outcome], scale.y(stop.height_mm), BUILD_X - BAR / 2
    beyond = stop.passed_by_mm
    if beyond > 0.0:
        top = y - beyond * scale.per_mm if stop.in_bump else y
        box = Box(left, top, BAR, beyond * scale.per_mm, facts={"beyond": stop.name, "mm": round(beyond, 4)})
        yield from hatched(box, RED, 4)
    yield _band(stop, left + BAR + 3, 12, scale)
    start = left - 7 if stop.in_bump else left + BAR
    facts: Facts = {"end": stop.name, "mm": stop.height_mm}
    yield Line(start, y, left + BAR + 15, y, ink, 3, facts=facts)


def _figures(stock: Places, scale: Scale, reader: Reader) -> Iterator[Shape]:
    for mark in stock.values():
        text = reader.figure("height_mm", mark.height_mm, COARSE_FIGURE).split(" ", 1)[0]
        yield Text(FACTORY_X - BAR / 2 - 8, scale.y(mark.height_mm) + 4, text, 11, GREY, anchor="end")


COARSE_FIGURE = 10.0
"""On the drawing whole millimetres are enough."""


def _length(reader: Reader, length_mm: float) -> str:
    return reader.figure("length_mm", length_mm, None) if reader.imperial else f"{length_mm:.0f} mm"


def _labels(build: Places, stops: list[Mark], scale: Scale, reader: Reader) -> Iterator[Shape]:
    wanted = [
        Label(_named(mark, reader), scale.y(mark.height_mm), mark.outcome, mark.outcome == "unsafe")
        for mark in (*build.values(), *stops)
    ]
    wanted.sort(key=lambda label: label.y)
    for label, y in zip(wanted, _spread([label.y for label in wanted]), strict=True):
        start = BUILD_X + BAR / 2 + (16 if label.outcome else 6)
        yield Line(start, label.y, LABELS_X - 20, y, GREY, 0.6)
        if label.outcome:
            yield from outcome_mark(label.outcome, LABELS_X - 11, y, 12)
        else:
            yield Line(LABELS_X - 17, y, LABELS_X - 5, y, INK, 2)
        ink = INKS.get(label.outcome, INK)
        yield Text(LABELS_X, y + 4, label.text, 12, ink, bold=label.bold)


def _named(mark: Mark, reader: Reader) -> str:
    figure = reader.figure("height_mm", mark.height_mm, max(mark.plus_minus_mm, COARSE_FIGURE)).split(" ±")[0]
    return f"{reader.say('mark_' + mark.name)} {figure}"


def _spread(wanted: list[float]) -> list[float]:
    """Places for labels in their order, none closer to the next than a line's height, none off the paper.

    >>> _spread([100.0, 104.0, 300.0])
    [100.0, 116.0, 300.0]
    """
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + APART) if placed else y)
    limit = HEIGHT - 30.0
    for index in reversed(range(len(placed))):
        placed[index] = min(placed[index], limit)
        limit = placed[index] - APART
    return placed


def _described(build: Places, stops: list[Mark], reader: Reader) -> str:
    marks = sorted((*build.values(), *stops), key=lambda mark: mark.height_mm)
    return "; ".join(_named(mark, reader) for mark in marks) + "."
