"""Which readings a margin's uncertainty comes from: the fitter then knows what to measure better."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.sensitivity import Array, Columns

MOST = 3
LEAST_SHARE = 0.005
"""Below half a per cent of the variance a reading is not worth naming."""


def foremost_readings(contributions: NDArray[np.float32], columns: Columns) -> Array:
    """The foremost readings of each finding on each build, greatest first, (n, f, MOST, 2): the place of each among the
    readings, and its share of the variance; both none where it is not worth naming. Of those that are told with one
    share the first among the readings stands first: what they differ by may be the noise of the computation.

    ``contributions`` (f, n, k) are those of k columns to the standard uncertainties of f findings on n builds.

    Places count the readings one by one: those that ``columns`` moves along condensed directions each have their own.
    """
    squares = _one_by_one(contributions.astype(np.float64), columns) ** 2
    total = squares.sum(axis=-1, keepdims=True)
    share = np.divide(squares, total, out=np.zeros_like(squares), where=total > 0.0).round(3)
    findings, builds, readings = share.shape
    left, every = share.reshape(findings * builds, readings), np.arange(findings * builds)
    found = np.zeros((len(every), MOST, 2))
    for nth in range(min(MOST, readings)):
        foremost = left.argmax(axis=1)
        found[:, nth, 0], found[:, nth, 1] = foremost, left[every, foremost]
        left[every, foremost] = 0.0
    found[found[..., 1] <= LEAST_SHARE] = 0.0
    return np.ascontiguousarray(found.reshape(findings, builds, MOST, 2).swapaxes(0, 1))


def _one_by_one(contributions: Array, columns: Columns) -> Array:
    """Contributions (..., k) with those along condensed directions given back to the readings that they move."""
    if not columns.together:
        return contributions
    own, along = len(columns.names), len(columns.directions)
    first = own - along
    back = contributions[..., first:own] @ columns.directions
    return np.concatenate([contributions[..., :first], back, contributions[..., own:]], axis=-1)
