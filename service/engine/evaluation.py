"""Builds in, verdicts out: one path for one build and for a million."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from service.engine.build import Build, Outfit
from service.engine.decision import Codes
from service.engine.record import LIFT, record_of
from service.engine.settled import Settled
from service.engine.settling import SettledOutfit, settle, settle_laden, settle_outfit
from service.engine.told import Told, told_worst_first

CHUNK = 128
"""Builds computed at once: large enough to spread the cost of a call, small enough for its arrays to stay in cache."""
WORTH_A_CALL = 3
"""So many calls, each for the loads of one outfit, take no longer with their records than one that begins anew."""
FOUND = "found"
"""The name under which what is found of a lasting outfit is kept with it."""


@dataclass(frozen=True, slots=True)
class Verdicts:
    """``codes[i]`` is the outcome code of build i (see ``decision``); ``record(i)`` everything that is known of it."""

    codes: Codes
    _settled: tuple[Settled, ...]
    _place: tuple[tuple[int, int], ...]

    def record(self, index: int) -> dict[str, object]:
        """The verdict on build ``index`` as plain values ready for JSON, in the form of the HTTP contract.

        Much of it is said by other records too, of the same parts under other loads: it must not be changed.
        """
        return record_of(*self.place(index))

    def checks(self, index: int) -> list[Told]:
        """The worst finding of each check on build ``index``, worst check first."""
        return told_worst_first(*self.place(index))

    def fails(self, index: int) -> bool:
        """Whether a required check on build ``index`` is not clear: something is there to be mended."""
        settled, row = self.place(index)
        return settled.fails[row]

    def lift_mm(self, index: int) -> tuple[float, float]:
        """Lift of build ``index`` and its expanded uncertainty, mm; not-a-number where it is not known."""
        settled, row = self.place(index)
        values, plus_minus = settled.positions.reported
        return values[row][LIFT], plus_minus[row][LIFT]

    def place(self, index: int) -> tuple[Settled, int]:
        """Where build ``index`` stands: the chunk in which it was settled, and its row there."""
        chunk, row = self._place[index]
        return self._settled[chunk], row


def evaluate(builds: Sequence[Build]) -> Verdicts:
    """The verdicts on ``builds``, in their order; a batch of one is the single case.

    Builds on one axle are computed together, those of a lasting outfit by themselves. Never raises on a build that
    ``assemble`` made: what cannot be told is an outcome.
    """
    codes = np.zeros(len(builds), dtype=np.int8)
    place = [(0, 0)] * len(builds)
    settled: list[Settled] = []
    for outfit, members in _chunks(builds):
        some = [builds[i] for i in members]
        result = settle(some) if outfit is None else settle_laden(_kept(outfit), some)
        codes[members] = result.verdict
        for row, member in enumerate(members):
            place[member] = (len(settled), row)
        settled.append(result)
    return Verdicts(codes, tuple(settled), tuple(place))


def _chunks(builds: Sequence[Build]) -> Iterator[tuple[Outfit | None, list[int]]]:
    """Builds that are computed together, and the lasting outfit that all of them have."""
    by_axle: dict[int, list[int]] = {}
    for index, build in enumerate(builds):
        by_axle.setdefault(id(build.axle), []).append(index)
    for members in by_axle.values():
        for outfit, some in _by_outfit(builds, members):
            for start in range(0, len(some), CHUNK):
                yield outfit, some[start : start + CHUNK]


def _by_outfit(builds: Sequence[Build], members: Sequence[int]) -> Iterator[tuple[Outfit | None, list[int]]]:
    """Members that have one lasting outfit, where they are so many that a call for them alone is worth it; all others
    together.
    """
    lasting: dict[int, list[int]] = {}
    for index in members:
        if builds[index].outfit.kept is not None:
            lasting.setdefault(id(builds[index].outfit), []).append(index)
    alone = [some for some in lasting.values() if len(some) * WORTH_A_CALL >= len(members)]
    for some in alone:
        yield builds[some[0]].outfit, some
    apart = set(chain.from_iterable(alone))
    if len(apart) < len(members):
        yield None, [index for index in members if index not in apart]


def _kept(outfit: Outfit) -> SettledOutfit:
    """What is found of a lasting outfit: worked out once."""
    assert outfit.kept is not None  # noqa: S101 - that is what lasting means
    found = outfit.kept.get(FOUND)
    if found is None:
        found = outfit.kept[FOUND] = settle_outfit(outfit)
    assert isinstance(found, SettledOutfit)  # noqa: S101 - one kind of value is kept under this name
    return found
