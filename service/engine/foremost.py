"""Which readings a margin's uncertainty comes from: the fitter then knows what to measure better."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.sensitivity import Array, Columns

MOST = 3
LEAST_SHARE = 0.005
"""Below half a per cent of the variance a reading is not worth naming."""


class Foremost(NamedTuple):
    """Of each finding on each build the foremost readings, greatest first: their places, and their shares of the
    variance; what is not worth naming has a share of none.
    """

    places: list[list[list[int]]]
    shares: list[list[list[float]]]


def foremost_readings(contributions: NDArray[np.float32], columns: Columns) -> Foremost:
    """Out of ``contributions`` (f, n, k) of k columns to the standard uncertainties of f findings on n builds.

    Places count the readings one by one: those that ``columns`` moves along condensed directions each have their own.
    """
    squares = _one_by_one(contributions.astype(np.float64), columns) ** 2
    total = squares.sum(axis=-1, keepdims=True)
    share = np.divide(squares, total, out=np.zeros_like(squares), where=total > 0.0).round(3)
    findings, builds, readings = share.shape
    left, every = share.reshape(findings * builds, readings), np.arange(findings * builds)
    places, shares = np.zeros((len(every), MOST), dtype=np.intp), np.zeros((len(every), MOST))
    for nth in range(min(MOST, readings)):
        foremost = left.argmax(axis=1)
        places[:, nth], shares[:, nth] = foremost, left[every, foremost]
        left[every, foremost] = 0.0
    shares[shares <= LEAST_SHARE] = 0.0
    shape = (findings, builds, MOST)
    return Foremost(places.reshape(shape).swapaxes(0, 1).tolist(), shares.reshape(shape).swapaxes(0, 1).tolist())


def _one_by_one(contributions: Array, columns: Columns) -> Array:
    """Contributions (..., k) with those along condensed directions given back to the readings that they move."""
    if not columns.together:
        return contributions
    own, along = len(columns.names), len(columns.directions)
    first = own - along
    back = contributions[..., first:own] @ columns.directions
    return np.concatenate([contributions[..., :first], back, contributions[..., own:]], axis=-1)
