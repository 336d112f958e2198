"""Combinations in blocks: everything chosen but the ordered kinds, and the ordered kinds inside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.axle import CompiledAxle
from service.engine.brought import Flags
from service.engine.search.as_read import AsRead, as_read
from service.engine.search.axes import Picks, picks_of
from service.engine.search.bounds import CORNERS, Bounded, bounded, corner_choice
from service.engine.search.space import Space

AT_ONCE_AS_READ = 4096
"""Rows of one column computed at once: their arrays stay in cache."""
COMBINATIONS_AT_ONCE = 65_536
LEAST_INSIDE = 8
"""Smaller blocks are not bounded: their corners would cost as much as they are."""


@dataclass(frozen=True, slots=True)
class Blocks:
    """Some blocks on one compiled axle: ``outside`` (axes, b) with the ordered axes at none, and ``inside`` (axes, i)
    with all others at none. A combination is the sum of one of each.
    """

    space: Space
    axle: CompiledAxle
    outside: Picks
    inside: Picks

    def combinations(self) -> tuple[NDArray[np.intp], Picks, Flags]:
        """The block of each combination, the combinations, and which of them cannot be."""
        fitted = np.count_nonzero(self.outside, axis=0)[:, None] + np.count_nonzero(self.inside, axis=0)
        block, inner = np.nonzero(fitted <= self.space.left)
        picks = self.outside[:, block] + self.inside[:, inner]
        return block, picks, self.space.refused(picks)

    def bounded(self) -> Bounded | None:
        """What no combination of each block can do; nothing where blocks are too small for the question."""
        if self.inside.shape[1] < LEAST_INSIDE:
            return None
        corners = tuple(self._as_read_at(corner) for corner in range(len(CORNERS)))
        return bounded(corners, self.space.wanted_lift())

    def _as_read_at(self, corner: int) -> AsRead:
        picks = self.outside.copy()
        for place, axis in enumerate(self.space.axes):
            if axis.order is not None:
                picks[place] = corner_choice(axis, self.space.usable(place), corner)
        return as_read(self.space.brought(self.axle, picks))


def blocks_of(space: Space) -> Iterator[Blocks]:
    """All blocks, some at a time, each time on one compiled axle."""
    ordered = [axis.order is not None for axis in space.axes]
    outside, inside = _spread(space, [not each for each in ordered]), _spread(space, ordered)
    moving = outside[[axis.moves_points for axis in space.axes]]
    _, first, group = np.unique(moving, axis=1, return_index=True, return_inverse=True)
    at_once = max(1, COMBINATIONS_AT_ONCE // inside.shape[1])
    for number, one in enumerate(first):
        members = np.flatnonzero(group.reshape(-1) == number)
        axle = space.compiled(outside[:, one])
        for start in range(0, len(members), at_once):
            yield Blocks(space, axle, outside[:, members[start : start + at_once]], inside)


def _spread(space: Space, turning: list[bool]) -> Picks:
    """Combinations of the axes that turn, with the others at none."""
    some = picks_of([axis for axis, turns in zip(space.axes, turning, strict=True) if turns], space.left)
    picks = np.zeros((len(space.axes), some.shape[1]), dtype=np.int32)
    picks[turning] = some
    return picks
