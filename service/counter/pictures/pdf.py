"""Drawings on a PDF's page: the same shapes as in SVG."""

from __future__ import annotations

from dataclasses import dataclass
from functools import singledispatchmethod

from fpdf import FPDF

from service.counter.pictures.shapes import Box, Disc, Drawing, Line, Outline, Shape, Text

POINTS_PER_MM = 72 / 25.4
"""A point is a 72nd of an inch, an inch 25.4 mm (exact)."""


def draw(paper: FPDF, drawing: Drawing, left_mm: float, top_mm: float, width_mm: float) -> None:
    """Put a drawing somewhere on the page, as wide as that."""
    pen = _Pen(paper, left_mm, top_mm, width_mm / drawing.width)
    for shape in drawing.shapes:
        pen.put(shape)
    paper.set_dash_pattern()


@dataclass(frozen=True, slots=True)
class _Pen:
    paper: FPDF
    left: float
    top: float
    scale: float

    def x(self, place: float) -> float:
        return self.left + place * self.scale

    def y(self, place: float) -> float:
        return self.top + place * self.scale

    @singledispatchmethod
    def put(self, shape: Shape) -> None:
        raise TypeError(shape)

    @put.register
    def _(self, shape: Line) -> None:
        self._ink(shape.ink, shape.width, dashed=shape.dashed)
        self.paper.line(self.x(shape.x1), self.y(shape.y1), self.x(shape.x2), self.y(shape.y2))

    @put.register
    def _(self, shape: Box) -> None:
        style = self._paint(shape.fill, shape.ink, dashed=shape.dashed)
        if style:
            size = shape.width * self.scale, shape.height * self.scale
            self.paper.rect(self.x(shape.x), self.y(shape.y), *size, style=style)

    @put.register
    def _(self, shape: Outline) -> None:
        style = self._paint(shape.fill, shape.ink)
        if style:
            self.paper.polygon([(self.x(x), self.y(y)) for x, y in shape.points], style=style)

    @put.register
    def _(self, shape: Disc) -> None:
        style, side = self._paint(shape.fill, shape.ink), 2 * shape.radius * self.scale
        if style:
            self.paper.ellipse(self.x(shape.x - shape.radius), self.y(shape.y - shape.radius), side, side, style=style)

    @put.register
    def _(self, shape: Text) -> None:
        self.paper.set_font("sans", "B" if shape.bold else "", shape.size * self.scale * POINTS_PER_MM)
        self.paper.set_text_color(shape.ink)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[shape.anchor] * self.paper.get_string_width(shape.text)
        self.paper.text(self.x(shape.x) - back, self.y(shape.y), shape.text)

    def _ink(self, ink: str, width: float, *, dashed: bool) -> None:
        self.paper.set_draw_color(ink)
        self.paper.set_line_width(width * self.scale)
        self.paper.set_dash_pattern(*((4 * self.scale, 3 * self.scale) if dashed else ()))

    def _paint(self, fill: str, ink: str, *, dashed: bool = False) -> str:
        if fill:
            self.paper.set_fill_color(fill)
        if ink:
            self._ink(ink, 1.0, dashed=dashed)
        return ("F" if fill else "") + ("D" if ink else "")
