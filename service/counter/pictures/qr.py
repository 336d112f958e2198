"""An address as a QR code, for a phone held against the paper."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import segno

from service.counter.pictures.shapes import WHITE, Box, Drawing, Shape

QUIET = 4
"""Empty modules around the code (ISO/IEC 18004, known second-hand)."""


def qr_drawing(address: str, title: str) -> Drawing:
    """The code; a row's neighbouring dark modules are one box, or thin white lines would show between them."""
    matrix = segno.make(address, error="m", micro=False).matrix
    side = len(matrix) + 2 * QUIET
    return Drawing(side, side, title, address, (Box(0, 0, side, side, WHITE), *_dark(matrix)))


def _dark(matrix: tuple[bytearray, ...]) -> Iterator[Shape]:
    for y, row in enumerate(matrix):
        x = QUIET
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                yield Box(x, y + QUIET, length, 1, "#000000")
            x += length
