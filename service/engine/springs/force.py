"""Force of a spring over its deflection: straight segments, one for a linear spring, several for a progressive one.

force                      /  last segment: goes on for ever
  |                       /
  |              ________/
  |     _______/         slope_1
  |____/  slope_0
  +----+-------+--------+----- deflection
     knot_0  knot_1   knot_2
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray


class SegmentTable(NamedTuple):
    """Segments of n springs, (n, M) each: the deflection where a segment starts and the rate along it.

    Knots never fall along a row; the last segment has no end. A segment of no width with slope 0 is padding.
    """

    knots_mm: NDArray[np.float64]
    slopes_n_per_mm: NDArray[np.float64]


def linear_table(rate_n_per_mm: ArrayLike) -> SegmentTable:
    """Table of n linear springs from their rates (n,), N/mm.

    >>> linear_table([72.0, 60.0]).slopes_n_per_mm
    array([[72.],
           [60.]])
    """
    slopes = np.atleast_1d(np.asarray(rate_n_per_mm, np.float64))[:, None]
    return SegmentTable(np.zeros_like(slopes), slopes)


def table_of_points(points: Sequence[Sequence[float]]) -> SegmentTable:
    """Table (1, M) of one spring from its measured [[deflection mm, force N], ...]; (0, 0) is put in front if missing.

    Beyond the last point its last rate goes on. Raises ValueError unless deflection and force both grow from point to
    point, from (0, 0) on, and all are finite.

    >>> table_of_points([[10.0, 500.0], [20.0, 1_200.0]])
    SegmentTable(knots_mm=array([[ 0., 10.]]), slopes_n_per_mm=array([[50., 70.]]))
    """
    pairs = np.asarray(points, np.float64).reshape(-1, 2)
    if pairs.size == 0 or pairs[0].any():
        pairs = np.vstack([np.zeros(2), pairs])
    steps = np.diff(pairs, axis=0)
    if not (len(steps) and np.isfinite(pairs).all() and (steps > 0.0).all()):
        raise ValueError("deflection and force must both grow from each point to the next, from 0 on")
    return SegmentTable(pairs[None, :-1, 0], (steps[:, 1] / steps[:, 0])[None, :])


def stack_tables(tables: Sequence[SegmentTable]) -> SegmentTable:
    """One table of all the springs of several, in their order, padded to the widest.

    The padding is put in front, segments of no width and slope 0, so that no knot at infinity is needed.

    >>> stack_tables([linear_table(72.0), table_of_points([[10.0, 500.0], [20.0, 1_200.0]])])
    SegmentTable(knots_mm=array([[ 0.,  0.],
           [ 0., 10.]]), slopes_n_per_mm=array([[ 0., 72.],
           [50., 70.]]))
    """
    if len(tables) == 1:
        return tables[0]
    shapes = [table.knots_mm.shape for table in tables]
    stacked = np.zeros((2, sum(springs for springs, _ in shapes), max(segments for _, segments in shapes)))
    first = 0
    for (knots, slopes), (springs, segments) in zip(tables, shapes, strict=True):
        of_knots, of_slopes = stacked[:, first : first + springs]
        of_knots[:, :-segments] = knots[:, :1]
        of_knots[:, -segments:] = knots
        of_slopes[:, -segments:] = slopes
        first += springs
    return SegmentTable(*stacked)


def force_n(deflection_mm: ArrayLike, table: SegmentTable) -> NDArray[np.float64]:
    """Force of n springs at K deflections each, N; none where the spring is loose on its seat (deflection below 0).

    ``deflection_mm`` (..., n, K), free length less present length; ``table`` (n, M), or (1, M) for one spring at all
    rows. Returns (..., n, K). Continuous, and never falling as long as no slope is negative.

    >>> force_n([[-5.0, 10.0, 15.0]], table_of_points([[10.0, 500.0], [20.0, 1_200.0]]))
    array([[  0., 500., 850.]])
    """
    deflection = np.asarray(deflection_mm, np.float64)
    knots, slopes = table
    force = slopes[:, -1:] * np.maximum(deflection - knots[:, -1:], 0.0)
    for j in range(knots.shape[1] - 1):
        here, there = knots[:, j, None], knots[:, j + 1, None]
        force += slopes[:, j, None] * np.minimum(np.maximum(deflection - here, 0.0), there - here)
    return np.asarray(force)


def stiffness_n_per_mm(deflection_mm: ArrayLike, table: SegmentTable) -> NDArray[np.float64]:
    """Rate of n springs at K deflections each, N/mm; at a knot that of the segment which starts there, 0 below 0.

    Shapes as in ``force_n``.

    >>> stiffness_n_per_mm([[-5.0, 0.0, 10.0, 99.0]], table_of_points([[10.0, 500.0], [20.0, 1_200.0]]))
    array([[ 0., 50., 70., 70.]])
    """
    deflection = np.asarray(deflection_mm, np.float64)
    knots, slopes = table
    rate = 0.0 * deflection + 0.0 * slopes[:, -1:]  # 0, and NaN where the deflection or the rate is not known
    for j in range(knots.shape[1]):
        rate = np.where(deflection >= knots[:, j, None], slopes[:, j, None], rate)
    return rate
