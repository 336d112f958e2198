"""The best combinations that one check alone holds back, found without evaluating all that fail.

Every combination that may be one of them has a bound on its rank: the distance of its lift from the one wanted, and
whether a required check is failed already as read, so that its probability of not conforming is a half at least. They
are evaluated in the order of these bounds, until the next one can no longer be among the best.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.brought import Flags
from service.engine.search.axes import Picks
from service.engine.search.ranking import UNKNOWN_LAST, Ranked
from service.engine.sensitivity import Array

AT_ONCE = 512


@dataclass(frozen=True, slots=True)
class Waiting:
    """Combinations ``picks`` (axes, n), the number of their compiled ``axle``, and bounds on their rank, (n,) each."""

    axle: NDArray[np.intp]
    picks: Picks
    error_mm: Array
    nonconformity: Array

    def __len__(self) -> int:
        return len(self.axle)

    def sorted(self) -> Waiting:
        return self.at(np.lexsort((self.nonconformity, self.error_mm)))

    def at(self, places: NDArray[np.intp] | Flags | slice) -> Waiting:
        return Waiting(self.axle[places], self.picks[:, places], self.error_mm[places], self.nonconformity[places])


def all_of(waiting: list[Waiting], axes: int) -> Waiting:
    nothing = Waiting(np.zeros(0, np.intp), np.zeros((axes, 0), np.int32), np.zeros(0), np.zeros(0))
    each = [nothing, *waiting]
    return Waiting(
        np.concatenate([one.axle for one in each]),
        np.concatenate([one.picks for one in each], axis=1),
        np.concatenate([one.error_mm for one in each]),
        np.concatenate([one.nonconformity for one in each]),
    )


@dataclass(frozen=True, slots=True)
class Reach:
    """The rank that the next combination must not exceed to be among the best."""

    error_mm: float = np.inf
    nonconformity: float = np.inf

    def holds(self, waiting: Waiting) -> Flags:
        nearer = waiting.error_mm < self.error_mm
        level = (waiting.error_mm == self.error_mm) & (waiting.nonconformity <= self.nonconformity)
        return np.asarray(nearer | level)


def reach_of(found: Ranked, most: int) -> Reach:
    """The rank of the last of the ``most`` best; anything where there are fewer yet."""
    best = found.best(most)
    if len(best.error_mm) < most:
        return Reach()
    last = float(best.nonconformity[-1])
    return Reach(float(best.error_mm[-1]), UNKNOWN_LAST if np.isnan(last) else last)
