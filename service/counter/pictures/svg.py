"""Drawings as SVG. Paint is given by attributes, so that a page may forbid inline styles."""

from __future__ import annotations

from functools import singledispatch
from html import escape
from zlib import crc32

from service.counter.pictures.shapes import Box, Disc, Drawing, Facts, Line, Outline, Shape, Text

FONT = "DejaVu Sans, Verdana, Segoe UI, system-ui, sans-serif"


def svg(drawing: Drawing, *, scaled: bool = True) -> str:
    """The drawing as an SVG element; ``scaled`` fits it to where it stands, else it has its own size."""
    # Several stand on one page, and each is named by its own title; the same drawing is the same text each time.
    name = f"d{crc32((drawing.title + drawing.description).encode()):x}"
    size = "" if scaled else f' width="{_n(drawing.width)}" height="{_n(drawing.height)}"'
    return (
        f'{_head(drawing)}{size} role="img" aria-labelledby="{name}t {name}d" font-family="{FONT}">'
        f'<title id="{name}t">{escape(drawing.title)}</title><desc id="{name}d">{escape(drawing.description)}</desc>'
        f"{''.join(map(element, drawing.shapes))}</svg>"
    )


def beside_words(drawing: Drawing) -> str:
    """A small drawing that says no more than the words that it stands beside: it is not read out."""
    return f'{_head(drawing)} aria-hidden="true" focusable="false">{"".join(map(element, drawing.shapes))}</svg>'


def _head(drawing: Drawing) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}"'


@singledispatch
def element(shape: Shape) -> str:
    raise TypeError(shape)


@element.register
def _(shape: Line) -> str:
    ends = f'x1="{_n(shape.x1)}" y1="{_n(shape.y1)}" x2="{_n(shape.x2)}" y2="{_n(shape.y2)}"'
    dashes = ' stroke-dasharray="4 3"' if shape.dashed else ""
    return f'<line {ends} stroke="{shape.ink}" stroke-width="{_n(shape.width)}"{dashes}{_facts(shape.facts)}/>'


@element.register
def _(shape: Box) -> str:
    place = f'x="{_n(shape.x)}" y="{_n(shape.y)}" width="{_n(shape.width)}" height="{_n(shape.height)}"'
    dashes = ' stroke-dasharray="4 3"' if shape.dashed else ""
    return f"<rect {place}{_paint(shape.fill, shape.ink)}{dashes}{_facts(shape.facts)}/>"


@element.register
def _(shape: Outline) -> str:
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
    return f'<polygon points="{points}"{_paint(shape.fill, shape.ink)}{_facts(shape.facts)}/>'


@element.register
def _(shape: Disc) -> str:
    return f'<circle cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.radius)}"{_paint(shape.fill, shape.ink)}/>'


@element.register
def _(shape: Text) -> str:
    weight = ' font-weight="bold"' if shape.bold else ""
    anchor = f' text-anchor="{shape.anchor}"' if shape.anchor != "start" else ""
    place = f'x="{_n(shape.x)}" y="{_n(shape.y)}" font-size="{_n(shape.size)}" fill="{shape.ink}"'
    return f"<text {place}{weight}{anchor}>{escape(shape.text)}</text>"


def _paint(fill: str, ink: str) -> str:
    return f' fill="{fill or "none"}"' + (f' stroke="{ink}"' if ink else "")


def _facts(facts: Facts) -> str:
    return "".join(f' data-{name}="{escape(str(value))}"' for name, value in facts.items())


def _n(number: float) -> str:
    """A coordinate, exact to a five-hundredth: nobody sees more, and the page stays light."""
    return f"{number:.3f}".rstrip("0").rstrip(".")
