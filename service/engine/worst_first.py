"""Which finding of each check is told, and in what order: one rule, over arrays.

Of a check its worst finding counts: by outcome, the axle's before the whole vehicle's, what is required, and by how
many standard uncertainties it is clear of its reserve. Checks stand by the same, but for the whole vehicle.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.decision import Codes
from service.engine.headings import Headings
from service.engine.sensitivity import Array

Places = NDArray[np.intp]
LEAST_SPREAD = 1e-3
"""A smaller standard uncertainty is the noise of the computation."""
APART = 1000
"""More than all else by which findings of one check are told apart."""


def worst_first(headings: Headings, codes: Codes, margin: Array, spread: Array) -> Places:
    """The places among f findings (f, n) of the worst finding of each check, worst check first; (checks, n).

    ``codes`` are outcome codes, ``margin`` and ``spread`` a margin and its standard uncertainty in the quantity's unit,
    not-a-number where they are not known, which counts as nothing left.

    >>> from service.engine.checks.finding import Label
    >>> labels = Label("coil_bind", "full_bump", "length_mm"), Label("brake_hose", "full_droop", "arch_to_hub_mm")
    >>> headings = Headings(labels, np.array([[5.0], [15.0]]))
    >>> margin, spread = np.array([[9.0], [4.0]]), np.ones((2, 1))
    >>> worst_first(headings, np.array([[1], [1]], np.int8), margin, spread).tolist()
    [[1], [0]]
    """
    with np.errstate(invalid="ignore"):
        room = (margin - headings.reserves) / np.maximum(spread, LEAST_SPREAD)
    room = np.where(np.isnan(room), -np.inf, room)
    milder, advisory, check = -codes.astype(np.intp), ~headings.required, headings.check
    by_check = np.lexsort((room, APART * check + 4 * milder + 2 * headings.whole_vehicle + advisory), axis=0)
    worst = by_check[headings.first_of_check]
    of_build = np.arange(codes.shape[1])
    order = np.lexsort((room[worst, of_build], (2 * milder + advisory)[worst, of_build]), axis=0)
    return np.asarray(worst[order, of_build], dtype=np.intp)
