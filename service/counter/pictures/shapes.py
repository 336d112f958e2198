"""The few shapes that a drawing is made of, before they become SVG or PDF. y grows downwards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

INK, GREY, PALE, WHITE = "#1b242c", "#56616b", "#d3d9de", "#ffffff"
RED, AMBER, BLUE, GREEN = "#a3201b", "#7a5200", "#3d4a8f", "#1b6150"
INKS = {"unsafe": RED, "marginal": AMBER, "undetermined": BLUE, "clear": GREEN, "not_applicable": GREY}
"""Every ink but the pale one has a contrast of at least 5 to 1 on white; they differ in grey as well."""
Facts = Mapping[str, str | float]


@dataclass(frozen=True, slots=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    ink: str = INK
    width: float = 1.0
    dashed: bool = False
    facts: Facts = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Box:
    """``fill`` or ``ink`` may be empty: nothing is painted there. ``facts`` say what it stands for."""

    x: float
    y: float
    width: float
    height: float
    fill: str = ""
    ink: str = ""
    dashed: bool = False
    facts: Facts = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed polygon."""

    points: tuple[tuple[float, float], ...]
    fill: str = ""
    ink: str = ""
    facts: Facts = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Disc:
    x: float
    y: float
    radius: float
    fill: str = ""
    ink: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text from its baseline's start, or its middle or end."""

    x: float
    y: float
    text: str
    size: float = 12.0
    ink: str = INK
    bold: bool = False
    anchor: str = "start"


Shape = Line | Box | Outline | Disc | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """``title`` names it and ``description`` says what it shows to whoever cannot see it."""

    width: float
    height: float
    title: str
    description: str
    shapes: tuple[Shape, ...]


def moved(shapes: Iterable[Shape], right: float, down: float) -> Iterator[Shape]:
    """The shapes somewhere else on the paper."""
    for shape in shapes:
        if isinstance(shape, Line):
            x1, x2 = shape.x1 + right, shape.x2 + right
            yield replace(shape, x1=x1, y1=shape.y1 + down, x2=x2, y2=shape.y2 + down)
        elif isinstance(shape, Outline):
            yield replace(shape, points=tuple((x + right, y + down) for x, y in shape.points))
        else:
            yield replace(shape, x=shape.x + right, y=shape.y + down)


def hatched(box: Box, ink: str, gap: float = 5.0) -> Iterator[Shape]:
    """A box under slanting lines: it is told from a plain one without its colour.

    >>> len(list(hatched(Box(0, 0, 10, 10), INK, gap=5)))
    4
    """
    yield replace(box, ink=ink)
    start = gap
    while start < box.width + box.height:
        left, right = max(0.0, start - box.height), min(box.width, start)
        bottom = box.y + box.height
        yield Line(box.x + left, bottom - box.height + (start - left), box.x + right, box.y + start - right, ink, 1.0)
        start += gap


def outcome_mark(outcome: str, x: float, y: float, size: float = 12.0) -> Iterator[Shape]:
    """The shape of an outcome around a middle: eight corners and a cross, a triangle, a diamond, a disc, a dash."""
    ink, half = INKS[outcome], size / 2
    if outcome == "unsafe":
        cut = half * 0.42
        ring = ((-half, -cut), (-cut, -half), (cut, -half), (half, -cut))
        yield Outline(tuple((x + a, y + b) for a, b in (*ring, *((-a, -b) for a, b in ring))), ink)
        arm = half * 0.45
        yield Line(x - arm, y - arm, x + arm, y + arm, WHITE, size / 7)
        yield Line(x - arm, y + arm, x + arm, y - arm, WHITE, size / 7)
    elif outcome == "marginal":
        yield Outline(((x, y - half), (x + half, y + half), (x - half, y + half)), ink)
        yield Line(x, y - half * 0.3, x, y + half * 0.35, WHITE, size / 7)
        yield Disc(x, y + half * 0.68, size / 14, WHITE)
    elif outcome == "undetermined":
        yield Outline(((x, y - half), (x + half, y), (x, y + half), (x - half, y)), WHITE, ink)
        yield Text(x, y + size * 0.25, "?", size * 0.72, ink, bold=True, anchor="middle")
    elif outcome == "clear":
        yield Disc(x, y, half, ink)
        yield Line(x - half * 0.45, y, x - half * 0.1, y + half * 0.4, WHITE, size / 7)
        yield Line(x - half * 0.1, y + half * 0.4, x + half * 0.5, y - half * 0.4, WHITE, size / 7)
    else:
        yield Line(x - half, y, x + half, y, ink, size / 6)
