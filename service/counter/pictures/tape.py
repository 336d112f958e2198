"""Small drawings of where the tape goes, one for each sort of reading."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from service.counter.pictures.shapes import BLUE, GREY, INK, PALE, WHITE, Box, Disc, Drawing, Line, Outline, Shape, Text

WIDTH, HEIGHT = 150.0, 112.0


def tape_drawing(how: str) -> Drawing | None:
    """The drawing for a way of measuring, by its key; none where there is nothing to draw."""
    sketch = next((sketch for start, sketch in SKETCHES.items() if how.startswith(start)), None)
    if sketch is None:
        return None
    return Drawing(WIDTH, HEIGHT, "", "", tuple(sketch()))


def _tape(x1: float, y1: float, x2: float, y2: float) -> Iterator[Shape]:
    """A measure with an arrow at both ends, along one of the axes."""
    yield Line(x1, y1, x2, y2, BLUE, 2.5)
    along_y = x1 == x2
    for x, y, way in ((x1, y1, 1), (x2, y2, -1)):
        tips = ((x - 5, y + way * 8), (x + 5, y + way * 8)) if along_y else ((x + way * 8, y - 5), (x + way * 8, y + 5))
        yield Outline(((x, y), *tips), BLUE)


def _arch_to_hub() -> Iterator[Shape]:
    yield Disc(75, 74, 36, PALE, INK)
    yield Disc(75, 74, 20, WHITE, INK)
    yield Disc(75, 74, 3, INK)
    yield Line(26, 60, 34, 30, INK, 3)
    yield Line(34, 30, 54, 14, INK, 3)
    yield Line(54, 14, 96, 14, INK, 3)
    yield Line(96, 14, 116, 30, INK, 3)
    yield Line(116, 30, 124, 60, INK, 3)
    yield from _tape(75, 17, 75, 72)


def _coil(top: float, bottom: float, left: float = 50.0, right: float = 90.0) -> Iterator[Shape]:
    step = (bottom - top) / 6
    for index in range(6):
        y = top + index * step
        yield Line(left, y + step * 0.7, right, y + step * 0.2, INK, 5)
        yield Line(left, y + step * 0.7, right, y + step * 1.2 if index < 5 else bottom, GREY, 1.5)


def _seat_gap() -> Iterator[Shape]:
    yield from _coil(18, 94)
    yield Line(38, 15, 122, 15, INK, 5)
    yield Line(38, 97, 122, 97, INK, 5)
    yield from _tape(110, 18, 110, 94)


def _free_length() -> Iterator[Shape]:
    yield from _coil(10, 102)
    yield from _tape(112, 8, 112, 104)


def _wire() -> Iterator[Shape]:
    for y in (26, 56, 86):
        yield Disc(44, y, 13, PALE, INK)
        yield Disc(104, y + 10, 13, PALE, INK)
    yield from _tape(44, 43, 44, 69)
    yield Line(24, 43, 64, 43, BLUE)
    yield Line(24, 69, 64, 69, BLUE)


def _diameter() -> Iterator[Shape]:
    yield from _coil(40, 104, 48, 102)
    for x in (45, 105):
        yield Line(x, 14, x, 60, GREY)
    yield from _tape(45, 22, 105, 22)


def _windings() -> Iterator[Shape]:
    yield from _coil(10, 102)
    for index in range(6):
        yield Text(102, 24 + index * 15.3, str(index + 1), 12, BLUE, bold=True)


def _strut(top: float) -> Iterator[Shape]:
    """From mount to mount, with a measure of both."""
    yield Box(66, 52, 18, 46, PALE, INK)
    yield Line(75, top + 2, 75, 52, INK, 4)
    yield Disc(75, top, 6, WHITE, INK)
    yield Disc(75, 102, 6, WHITE, INK)
    yield Line(80, top, 124, top, GREY)
    yield Line(80, 102, 124, 102, GREY)
    yield from _tape(116, top, 116, 102)


def _mount_to_mount() -> Iterator[Shape]:
    yield from _strut(12)


def _pushed_shut() -> Iterator[Shape]:
    yield from _strut(42)


def _seat_offset() -> Iterator[Shape]:
    yield from _strut(12)
    for y in (26, 74):
        yield Line(44, y, 106, y, INK, 4)
        yield Line(24, y, 44, y, GREY)
    yield from _tape(32, 28, 32, 72)
    yield Text(128, 62, "A", 13, BLUE, bold=True)
    yield Text(12, 55, "B", 13, BLUE, bold=True)
    yield Text(8, 104, "A − B", 13, BLUE, bold=True)


def _stop() -> Iterator[Shape]:
    yield Line(30, 18, 120, 18, INK, 5)
    yield Outline(((52, 20), (98, 20), (92, 66), (84, 88), (66, 88), (58, 66)), PALE, INK)
    yield Line(84, 88, 124, 88, GREY)
    yield from _tape(114, 21, 114, 88)


def _squeezed_stop() -> Iterator[Shape]:
    for y in (28, 82):
        yield Line(24, y, 112, y, INK, 5)
        yield Line(112, y, 136, y, GREY)
    yield Outline(((46, 31), (90, 31), (100, 55), (90, 79), (46, 79), (36, 55)), PALE, INK)
    yield from _tape(126, 31, 126, 79)


def _wheelbase() -> Iterator[Shape]:
    for x in (32, 118):
        yield Disc(x, 82, 20, PALE, INK)
        yield Disc(x, 82, 3, INK)
        yield Line(x, 82, x, 30, GREY)
    yield Line(14, 56, 136, 56, INK, 3)
    yield from _tape(32, 34, 118, 34)


SKETCHES: dict[str, Callable[[], Iterator[Shape]]] = {
    "height_at": _arch_to_hub,
    "limit": _arch_to_hub,
    "bump_limit": _arch_to_hub,
    "seat_gap": _seat_gap,
    "free_length": _free_length,
    "wire": _wire,
    "mean_diameter": _diameter,
    "total_coils": _windings,
    "damper_length": _mount_to_mount,
    "closed_length": _pushed_shut,
    "extended_length": _mount_to_mount,
    "seat_offset": _seat_offset,
    "free_height": _stop,
    "crushed_height": _squeezed_stop,
    "wheelbase": _wheelbase,
}
