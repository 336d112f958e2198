"""A record as one drawing: the verdict in a line, and the pictures beneath it."""

from __future__ import annotations

from collections.abc import Iterator

from service.counter.language.reader import Reader
from service.counter.pictures.shapes import GREY, INK, INKS, WHITE, Box, Drawing, Shape, Text, moved, outcome_mark
from service.counter.verdict_view import VerdictView

GAP, TOP, LINE = 24.0, 92.0, 110


def sheet_drawing(view: VerdictView, record_id: str, reader: Reader) -> Drawing:
    """The pictures side by side under the verdict."""
    width = GAP + sum(drawing.width + GAP for drawing in view.drawings)
    lines = list(_lines(view.headline.text, int(width / 8)))
    top = TOP + 18 * (len(lines) - 1)
    height = top + max(drawing.height for drawing in view.drawings) + GAP
    shapes = (Box(0, 0, width, height, WHITE), *_head(view, lines, record_id), *_pictures(view, top))
    return Drawing(width, height, f"{reader.say('verdict')}: {view.word}", view.headline.text, shapes)


def _head(view: VerdictView, lines: list[str], record_id: str) -> Iterator[Shape]:
    yield from outcome_mark(view.outcome, GAP + 12, 26, 24)
    yield Text(GAP + 34, 34, view.word, 22, INKS[view.outcome], bold=True)
    yield Text(GAP, 14, record_id, 9, GREY)
    for index, line in enumerate(lines):
        yield Text(GAP, 58 + 18 * index, line, 14, INK)


def _pictures(view: VerdictView, top: float) -> Iterator[Shape]:
    right = GAP
    for drawing in view.drawings:
        yield from moved(drawing.shapes, right, top)
        right += drawing.width + GAP


def _lines(text: str, length: int) -> Iterator[str]:
    """Words in lines no longer than that, where a word is not itself longer.

    >>> list(_lines("one two three", 8))
    ['one two', 'three']
    """
    line = ""
    for word in text.split():
        if line and len(line) + 1 + len(word) > length:
            yield line
            line = ""
        line = f"{line} {word}" if line else word
    yield line
