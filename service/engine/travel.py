"""Travel curves: how the strut's length follows the wheel.

    h  arch-to-hub, mm: from a mark on the wheel arch down to the wheel centre; grows as the wheel drops
    y  span, mm: the strut's length, or the spring-seat gap, up to a fixed offset
    dy/dh  motion ratio: strut travel over wheel travel (between 0 and about 1)

A curve is a straight line through two stations, a monotone cubic (PCHIP) through three or more, and goes on with its
end slope outside of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.sensitivity import BLOCK_NUMBERS, Array

NEWTON_ROUNDS = 12
HALVINGS = 60
LAST_STEP_MM = 1e-6
"""After so small a step of Newton's method what is left is of the order of its square, far below the step of a moved
reading. What has settled stays, so that a batch and a single build agree.
"""
FEW = 1024
FLATTEST = 1e-9
OVER_MM = 1e-2
"""How far past the end of its piece a position may come out: a moved reading moves the piece's end by less."""


class OnCurve(NamedTuple):
    """A curve at some wheel positions: ``span_mm``, its ``motion_ratio`` and ``dMR/dh`` per mm; arrays alike."""

    span_mm: Array
    motion_ratio: Array
    ratio_change_per_mm: Array


@dataclass(frozen=True, slots=True)
class Curve:
    """N stations in C columns: N + 1 pieces, of which the first and the last are the straight ends.

    ``knots_mm`` (N,) and ``spans_mm`` (N,) are the stations as read, both increasing; ``anchors_mm`` (C, N + 1) is
    where each piece counts from, ``coefficients`` (4, C, N + 1) its cubic, constant term first. ``lengths_mm`` (N + 1,)
    and ``secants`` (N + 1,) are those of the pieces as read; the ends have none.
    """

    knots_mm: Array
    spans_mm: Array
    anchors_mm: Array
    coefficients: Array
    lengths_mm: Array
    secants: Array

    def at(self, arch_to_hub_mm: Array, column: NDArray[np.intp]) -> OnCurve:
        """The curve at ``arch_to_hub_mm`` (..., K), each last axis entry on the curve of its ``column`` (K,)."""
        here = column * self.anchors_mm.shape[1] + _piece_of(arch_to_hub_mm, self.knots_mm)
        along = arch_to_hub_mm - self.anchors_mm.take(here)
        c0, c1, c2, c3 = self.coefficients.reshape(4, -1).take(here, axis=1)
        return OnCurve(
            c0 + along * (c1 + along * (c2 + along * c3)),
            c1 + along * (2.0 * c2 + along * (3.0 * c3)),
            2.0 * c2 + 6.0 * c3 * along,
        )

    def where(self, span_mm: Array, column: NDArray[np.intp]) -> Array:
        """The wheel position, arch-to-hub in mm, at which the curve has ``span_mm`` (..., K). The inverse of ``at``.

        Newton's method on the monotone cubic of the piece, kept inside the piece. Not-a-number stays so.
        """
        piece = _piece_of(span_mm, self.spans_mm)
        here = column * self.anchors_mm.shape[1] + piece
        c0, c1, c2, c3 = self.coefficients.reshape(4, -1).take(here, axis=1)
        wanted = span_mm - c0
        inner = (piece > 0) & (piece < len(self.knots_mm))
        if not inner.any() or len(self.knots_mm) == 2:
            return np.asarray(self.anchors_mm.take(here) + wanted / c1)
        length, twice_c2, thrice_c3 = self.lengths_mm.take(piece), 2.0 * c2, 3.0 * c3
        least, most = np.where(inner, -OVER_MM, -np.inf), length + OVER_MM  # an end goes on for ever
        along = wanted / np.where(inner, self.secants.take(piece), c1)
        moving = np.ones(along.shape, dtype=bool)
        for _ in range(NEWTON_ROUNDS):
            slope = c1 + along * (twice_c2 + along * thrice_c3)
            step = (wanted - along * (c1 + along * (c2 + along * c3))) / np.maximum(slope, FLATTEST)
            along = np.where(moving, np.minimum(np.maximum(along + step, least), most), along)
            moving &= np.abs(step) > LAST_STEP_MM
            if not moving.any():
                return np.asarray(self.anchors_mm.take(here) + along)
        return np.asarray(self.anchors_mm.take(here) + np.where(inner, _bisected((c1, c2, c3), wanted, length), along))


def _piece_of(places: Array, knots: Array) -> NDArray[np.intp]:
    """How many of the ``knots`` (N,) lie below each of ``places`` (..., K).

    Columns of moved readings are nearly always between the same knots as the column as read: to see that is quicker
    than to look for each of many.
    """
    if places.size < FEW:
        return knots.searchsorted(places)
    piece = knots.searchsorted(places[..., :1])
    ends = np.concatenate([[-np.inf], knots, [np.inf]])
    elsewhere = (places <= ends[piece]) | (places > ends[piece + 1])
    return knots.searchsorted(places) if elsewhere.any() else piece


def _bisected(coefficients: tuple[Array, Array, Array], wanted: Array, length: Array) -> Array:
    """Where a monotone cubic that Newton's method did not settle on has its wanted value; by halving the piece."""
    c1, c2, c3 = coefficients
    low, high = np.full_like(wanted, -OVER_MM), np.minimum(length, 1e6) + OVER_MM
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = wanted > middle * (c1 + middle * (c2 + middle * c3))
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return 0.5 * (low + high)


def pchip_slopes(knots: Array, values: Array) -> Array:
    """Slopes of the monotone cubic through ``values`` (C, N) at ``knots`` (C, N), N >= 2; result (C, N).

    Fritsch and Butland's weighted harmonic mean inside, the three-point formula kept in shape at the ends; two knots
    give the straight line. Source: F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304 (known
    second-hand, through the documentation of numerical libraries); checked against SciPy's in the tests.

    >>> pchip_slopes(np.array([[0.0, 1.0, 2.0]]), np.array([[0.0, 1.0, 4.0]])).round(4).tolist()
    [[0.0, 1.5, 4.0]]
    """
    gaps = np.diff(knots, axis=1)
    secants = np.diff(values, axis=1) / gaps
    if knots.shape[1] == 2:
        return np.repeat(secants, 2, axis=1)
    slopes = np.zeros_like(values)
    before, after = secants[:, :-1], secants[:, 1:]
    w1, w2 = 2.0 * gaps[:, 1:] + gaps[:, :-1], gaps[:, 1:] + 2.0 * gaps[:, :-1]
    same_way = before * after > 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        harmonic = (w1 + w2) / (w1 / before + w2 / after)
    slopes[:, 1:-1] = np.where(same_way, harmonic, 0.0)
    slopes[:, 0] = _end_slope(gaps[:, 0], gaps[:, 1], secants[:, 0], secants[:, 1])
    slopes[:, -1] = _end_slope(gaps[:, -1], gaps[:, -2], secants[:, -1], secants[:, -2])
    return slopes


def _end_slope(gap: Array, next_gap: Array, secant: Array, next_secant: Array) -> Array:
    slope = ((2.0 * gap + next_gap) * secant - gap * next_secant) / (gap + next_gap)
    slope = np.where(slope * secant <= 0.0, 0.0, slope)
    steep = (secant * next_secant <= 0.0) & (np.abs(slope) > 3.0 * np.abs(secant))
    return np.where(steep, 3.0 * secant, slope)


def curve_through(knots: Array, spans: Array, beyond_bump: Array, beyond_droop: Array, *, rising: bool = True) -> Curve:
    """The curve through stations ``knots`` and ``spans``, both (C, N) with N >= 2 and increasing along N.

    ``beyond_bump`` and ``beyond_droop`` (C,) are the relative errors of the slope outside the stations, zero as read:
    they carry the uncertainty of the extrapolated part. On a ``rising`` curve an end slope below half of the end secant
    is lifted to that: the monotone cubic may flatten to nothing at an end, a wheel does not. A curve that does not rise
    has no ``where``.
    """
    return hermite(knots, spans, pchip_slopes(knots, spans), (beyond_bump, beyond_droop), rising=rising)


def hermite(knots: Array, spans: Array, slopes: Array, beyond: tuple[Array, Array], *, rising: bool = True) -> Curve:
    """The curve with given ``slopes`` (C, N) at its knots; arguments else as in ``curve_through``."""
    gaps, rises = np.diff(knots, axis=1), np.diff(spans, axis=1)
    secants = rises / gaps
    c2 = (3.0 * secants - 2.0 * slopes[:, :-1] - slopes[:, 1:]) / gaps
    c3 = (slopes[:, :-1] + slopes[:, 1:] - 2.0 * secants) / gaps**2
    least = 0.5 * secants if rising else np.full_like(secants, -np.inf)
    towards_bump = np.maximum(slopes[:, 0], least[:, 0]) * (1.0 + beyond[0])
    towards_droop = np.maximum(slopes[:, -1], least[:, -1]) * (1.0 + beyond[1])
    nothing = np.zeros((len(knots), 1))
    coefficients = np.stack(
        [
            np.hstack([spans[:, :1], spans]),
            np.hstack([towards_bump[:, None], slopes[:, :-1], towards_droop[:, None]]),
            np.hstack([nothing, c2, nothing]),
            np.hstack([nothing, c3, nothing]),
        ]
    )
    lengths = np.concatenate([[np.inf], gaps[0], [np.inf]])
    as_read = np.concatenate([[1.0], secants[0], [1.0]])
    return Curve(knots[0].copy(), spans[0].copy(), np.hstack([knots[:, :1], knots]), coefficients, lengths, as_read)


@dataclass(frozen=True, slots=True)
class CurveSet:
    """Several curves over the same knots, read together: ``names`` one a curve; ``ends_mm`` (N + 2,), where the pieces
    begin and end; ``anchors_mm`` (N + 1, C) and ``coefficients`` (4, J, N + 1, C), so that the columns of a piece lie
    side by side.
    """

    names: tuple[str, ...]
    knots_mm: Array
    ends_mm: Array
    anchors_mm: Array
    coefficients: Array

    def at(self, arch_to_hub_mm: Array, column: NDArray[np.intp]) -> dict[str, Array]:
        """Every curve at ``arch_to_hub_mm`` (..., K), each last axis entry in its ``column`` (K,); name -> array."""
        here = _piece_of(arch_to_hub_mm, self.knots_mm) * self.anchors_mm.shape[1] + column
        along = arch_to_hub_mm - self.anchors_mm.take(here)
        values = _cubic(self.coefficients.reshape(4, len(self.names), -1).take(here, axis=2), along)
        return dict(zip(self.names, values, strict=True))

    def each(self, curve: NDArray[np.intp], place: NDArray[np.intp], arch_to_hub_mm: Array, own: int) -> Array:
        """Some curves, each at one of p wheel positions: ``curve`` (q,) at ``arch_to_hub_mm[place]``; (q, n, K).

        ``arch_to_hub_mm`` (p, n, K); the first ``own`` columns are the curves' own, all others use the first one. A
        column is nearly always on the same piece as the first one, so that whole pieces are read; where one is not,
        its row is read again number by number.
        """
        pieces, columns = self.anchors_mm.shape
        piece = self.knots_mm.searchsorted(arch_to_hub_mm[..., 0])
        anchors = self.anchors_mm.take(piece, axis=0)
        along = arch_to_hub_mm - anchors[..., :1]
        along[..., :own] = arch_to_hub_mm[..., :own] - anchors[..., :own]
        where, by_piece = curve[:, None] * pieces + piece[place], self.coefficients.reshape(4, -1, columns)
        told = np.empty((len(curve), *along.shape[1:]))
        size = max(1, BLOCK_NUMBERS // told[0].size)
        for some in (slice(first, first + size) for first in range(0, len(curve), size)):
            blocks, here = by_piece.take(where[some], axis=1), along[place[some]]
            told[some, :, own:] = _cubic(blocks[..., :1], here[..., own:])
            told[some, :, :own] = _cubic(blocks[..., :own], here[..., :own])
        low, high = self.ends_mm.take(piece)[..., None], self.ends_mm.take(piece + 1)[..., None]
        elsewhere = ((arch_to_hub_mm <= low) | (arch_to_hub_mm > high)).any(axis=-1)
        if elsewhere.any():
            column = np.where(np.arange(along.shape[-1]) < own, np.arange(along.shape[-1]), 0)
            there = self.at(arch_to_hub_mm[elsewhere], column)
            at_place, build = np.nonzero(elsewhere)
            for row, which, p in zip(told, curve, place, strict=True):
                row[build[at_place == p]] = there[self.names[which]][at_place == p]
        return told


def curve_set(curves: dict[str, Curve]) -> CurveSet:
    """Curves over the same knots as one set."""
    first = next(iter(curves.values()))
    coefficients = np.stack([curve.coefficients for curve in curves.values()], axis=1)
    by_piece = np.ascontiguousarray(coefficients.swapaxes(-1, -2))
    ends = np.concatenate([[-np.inf], first.knots_mm, [np.inf]])
    return CurveSet(tuple(curves), first.knots_mm, ends, np.ascontiguousarray(first.anchors_mm.T), by_piece)


def _cubic(coefficients: Array, along: Array) -> Array:
    c0, c1, c2, c3 = coefficients
    return np.asarray(c0 + along * (c1 + along * (c2 + along * c3)))
