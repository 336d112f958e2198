"""The order of what a search finds, and the ranks of many combinations as arrays.

First by the distance of the lift from the one wanted, to a tenth of a millimetre; then by the probability that a
required check does not conform, to six digits, unknown ones last; then by the number of parts; then by their SKUs, kind
after kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.brought import Flags
from service.engine.search.axes import Picks
from service.engine.sensitivity import Array
from service.engine.settled import rounded

UNKNOWN_LAST = 2.0
TENTHS = 1
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Ranked:
    """Combinations ``picks`` (axes, n), their lift, and what they are ranked by, (n,) each; ``error_mm`` is 0 without a
    target.
    """

    picks: Picks
    lift_mm: Array
    error_mm: Array
    nonconformity: Array

    def order(self) -> NDArray[np.intp]:
        """Places, best first."""
        unsure = np.where(np.isnan(self.nonconformity), UNKNOWN_LAST, self.nonconformity)
        parts = np.count_nonzero(self.picks, axis=0)
        return np.lexsort((*self.picks[::-1], parts, unsure, self.error_mm))

    def best(self, most: int) -> Ranked:
        first = self.order()[:most]
        return Ranked(self.picks[:, first], self.lift_mm[first], self.error_mm[first], self.nonconformity[first])


def none_of(axes: int) -> Ranked:
    return Ranked(np.zeros((axes, 0), dtype=np.int32), np.zeros(0), np.zeros(0), np.zeros(0))


def together(ranked: Sequence[Ranked]) -> Ranked:
    """All of them; there must be one at least."""
    return Ranked(
        np.concatenate([each.picks for each in ranked], axis=1),
        np.concatenate([each.lift_mm for each in ranked]),
        np.concatenate([each.error_mm for each in ranked]),
        np.concatenate([each.nonconformity for each in ranked]),
    )


def lift_error_mm(lift_mm: Array, wanted_mm: float | None) -> Array:
    """Distance from the lift that is wanted, to a tenth; 0 where none is, infinite where the lift is not known."""
    if wanted_mm is None:
        return np.zeros_like(lift_mm)
    return np.asarray(np.nan_to_num(np.round(np.abs(rounded(lift_mm) - wanted_mm), TENTHS), nan=np.inf))


def off_target(lift_mm: Array, wanted: tuple[float, float] | None) -> Flags:
    """Whether the best estimate of the lift is further from the one wanted than its tolerance, or not known."""
    if wanted is None:
        return np.zeros(lift_mm.shape, dtype=bool)
    return np.asarray(~(np.abs(rounded(lift_mm) - wanted[0]) <= wanted[1] + ROUNDING))
