"""Going through the combinations: bounds first, then as read, then in full; and what is found on the way."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from service.engine.axle import CompiledAxle
from service.engine.brought import Flags
from service.engine.search.as_read import as_read
from service.engine.search.axes import Picks
from service.engine.search.blocks import AT_ONCE_AS_READ, Blocks
from service.engine.search.bounds import Bounded
from service.engine.search.in_full import InFull, in_full
from service.engine.search.near import AT_ONCE, Waiting, all_of, reach_of
from service.engine.search.ranking import TENTHS, Ranked, lift_error_mm, none_of, off_target, together
from service.engine.search.space import Space
from service.engine.sensitivity import Array

IN_FULL_AT_ONCE = 128
"""As in ``evaluation``: with all its columns a build's arrays are that much larger."""
HALF = 0.5
"""The least probability of not conforming where a margin is below zero as read."""


class Looking:
    """What has been found so far, and what may still be among the near misses."""

    def __init__(self, space: Space) -> None:
        self.space = space
        self.combinations = self.refused = self.evaluated = 0
        self.axles: list[CompiledAxle] = []
        nothing = none_of(len(space.axes))
        self._clear, self._near = [nothing], [nothing]
        self._waiting: list[Waiting] = []
        self._hopeless: list[Waiting] = []

    @property
    def clear(self) -> Ranked:
        return together(self._clear)

    def at(self, blocks: Blocks) -> int:
        """Look at some blocks; how many combinations they are."""
        self.axles.append(blocks.axle)
        block, picks, refused = blocks.combinations()
        self.refused += int(refused.sum())
        self.combinations += int((~refused).sum())
        bounds = blocks.bounded()
        hopeless = np.zeros(len(block), dtype=np.intp) if bounds is None else bounds.count[block]
        self._look(len(self.axles) - 1, picks[:, ~refused & (hopeless == 0)])
        if bounds is not None and self.space.wanted.near_misses:
            later = ~refused & (hopeless == 1)
            error = self._least_error(bounds)[block[later]]
            axle = np.full(len(error), len(self.axles) - 1)
            self._hopeless.append(Waiting(axle, picks[:, later], error, np.zeros(len(error))))
        return len(block)

    def near_misses(self, beat: Callable[[], None]) -> Ranked:
        """The best that one check alone holds back. ``beat`` is called now and then: it may stop the search."""
        most, axes = self.space.wanted.near_misses, len(self.space.axes)
        hopeless, waiting = all_of(self._hopeless, axes).sorted(), all_of(self._waiting, axes).sorted()
        while most:
            beat()
            reach = reach_of(together(self._near), most)
            next_error = float(waiting.error_mm[0]) if len(waiting) else np.inf
            due = reach.holds(hopeless) & (hopeless.error_mm <= next_error)
            if due.any():
                self._waiting = []
                self._look_again(hopeless.at(due))
                hopeless, waiting = hopeless.at(~due), all_of([waiting, *self._waiting], axes).sorted()
                continue
            best = np.flatnonzero(reach.holds(waiting))[:AT_ONCE]
            if not len(best):
                break
            self._evaluate(waiting.at(best))
            waiting = waiting.at(slice(len(best), None))
        return together(self._near).best(most)

    def _least_error(self, bounds: Bounded) -> Array:
        """By how much the lift of a block's combinations is off at least, to a tenth below; 0 where it is not known."""
        wanted = self.space.wanted_lift()
        if wanted is None:
            return np.zeros(len(bounds.lowest_mm))
        off = np.maximum(bounds.lowest_mm - wanted[0], wanted[0] - bounds.highest_mm)
        return np.asarray(np.nan_to_num(np.maximum(np.floor(off * 10**TENTHS) / 10**TENTHS, 0.0)))

    def _look_again(self, waiting: Waiting) -> None:
        for axle in np.unique(waiting.axle):
            self._look(int(axle), waiting.picks[:, waiting.axle == axle])

    def _look(self, axle: int, picks: Picks) -> None:
        """As read first. What fails nothing is evaluated, what fails one check waits, the rest is settled."""
        for start in range(0, picks.shape[1], AT_ONCE_AS_READ):
            some = picks[:, start : start + AT_ONCE_AS_READ]
            told = as_read(self.space.brought(self.axles[axle], some))
            failing = told.failing()[1].sum(axis=0) + off_target(told.lift_mm, self.space.wanted_lift())
            self._evaluate_on(axle, some[:, failing == 0])
            if self.space.wanted.near_misses:
                one = failing == 1
                error, half = self._error(told.lift_mm[one]), np.where(told.unsafe[one], HALF, 0.0)
                self._waiting.append(Waiting(np.full(len(error), axle), some[:, one], error, half))

    def _evaluate(self, waiting: Waiting) -> None:
        for axle in np.unique(waiting.axle):
            self._evaluate_on(int(axle), waiting.picks[:, waiting.axle == axle])

    def _evaluate_on(self, axle: int, picks: Picks) -> None:
        for start in range(0, picks.shape[1], IN_FULL_AT_ONCE):
            some = picks[:, start : start + IN_FULL_AT_ONCE]
            told = in_full(self.space.brought(self.axles[axle], some))
            self.evaluated += some.shape[1]
            hold = told.hold + off_target(told.lift_mm, self.space.wanted_lift())
            self._clear.append(self._ranked(some, told, hold == 0))
            self._near.append(self._ranked(some, told, hold == 1))

    def _ranked(self, picks: Picks, told: InFull, flags: Flags) -> Ranked:
        lift = told.lift_mm[flags]
        return Ranked(picks[:, flags], lift, self._error(lift), told.nonconformity[flags])

    def _error(self, lift_mm: Array) -> Array:
        wanted = self.space.wanted_lift()
        return lift_error_mm(lift_mm, None if wanted is None else wanted[0])
