"""Where a check begins to pass as one number of the build is moved: found with the engine, for many at once.

Each number moves on a grid, from the build's own towards the greatest change that is tried. Margins are nearly straight
over it, with kinks where another position or joint comes to decide. So the next tries stand where a straight line
says: through the two nearest places that fail, and through the nearest of each sort; until a place that passes
stands beside one that fails.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import ceil, floor, inf, isfinite

from service.engine.build import Build
from service.engine.decision import CLEAR, guard_factor
from service.engine.evaluation import Verdicts, evaluate
from service.engine.remedies.levers import Lever
from service.engine.settled import Settled

ROUNDS = 40
"""Never reached: each round but the first halves what is left, at least."""
ROUNDING = 1e-9
FIRST_STEPS = 10
"""How far from the build's own number its slope is taken."""
TRIED_FIRST = 3


@dataclass(frozen=True, slots=True)
class Try:
    """One number in place: whether the check passes with it, by how much, and what the engine says of the build."""

    passes: bool
    clearance: float
    verdicts: Verdicts
    index: int


@dataclass(frozen=True)
class Problem:
    """A check of build ``owner``, the lever that may mend it, and what came of the places tried on its grid."""

    owner: int
    check: str
    lever: Lever
    tried: Mapping[int, Try] = field(default_factory=dict)

    @cached_property
    def first(self) -> int:
        """The grid's place of the present number, or the next one to it on the way."""
        return self._grid(self.lever.start, onwards=True)

    @cached_property
    def last(self) -> int:
        """How many places on from the first the greatest change is."""
        return abs(self._grid(self.lever.extreme, onwards=False) - self.first)

    def value(self, place: int) -> float:
        """The number at a place, counted from the first."""
        towards = -1 if self.lever.bound == "at_most" else 1
        return round((self.first + towards * place) * self.lever.step, 6) + 0.0

    def _grid(self, value: float, *, onwards: bool) -> int:
        steps = value / self.lever.step
        down = (self.lever.bound == "at_most") == onwards
        return floor(steps + ROUNDING) if down else ceil(steps - ROUNDING)

    @cached_property
    def passing(self) -> int | None:
        """The smallest change that passes, so far."""
        return min((place for place, each in self.tried.items() if each.passes), default=None)

    @cached_property
    def failing(self) -> int:
        """The greatest change below it that fails; the build itself does."""
        end = inf if self.passing is None else self.passing
        return max((place for place, each in self.tried.items() if place < end and not each.passes), default=-1)

    @property
    def solved(self) -> bool:
        return self.passing is not None and self.passing - self.failing == 1

    @property
    def mended_at(self) -> int | None:
        """The smallest change that passes and that can be asked for; none where there is no such."""
        if self.passing is None or not 0.0 < self.value(self.passing) <= self.lever.doubt:
            return self.passing
        return self.last if self.tried[self.last].passes else None

    @property
    def hopeless(self) -> bool:
        return self.last in self.tried and self.passing is None

    def next_places(self) -> list[int]:
        """The places to try next."""
        if self.passing is None:
            return sorted({place for place in (0, FIRST_STEPS, self.last) if place <= self.last})
        between = range(self.failing + 1, self.passing)
        if len(between) <= 3:
            return list(between)
        near = [guess + aside for guess in self._guesses(self.passing) for aside in (-1, 0, 1)]
        places = {place for place in near if place in between}
        if not places or len(self.tried) > TRIED_FIRST:  # a straight line that missed may go on missing
            places.add((self.failing + self.passing) // 2)
        return sorted(places)

    def _guesses(self, passing: int) -> list[int]:
        failed = sorted(place for place in self.tried if place <= self.failing)
        pairs = [(self.failing, passing), *([(failed[-2], failed[-1])] if len(failed) > 1 else [])]
        crossings = (_crossing(a, self.tried[a].clearance, b, self.tried[b].clearance) for a, b in pairs if a >= 0)
        return [each for each in crossings if each is not None]

    def after(self, tried: Mapping[int, Try]) -> Problem:
        """The same with what was learnt."""
        return replace(self, tried={**self.tried, **tried})


def _crossing(place: int, clearance: float, other: int, other_clearance: float) -> int | None:
    """Where the straight line through two places is at nothing left; none where there is no such line."""
    if not (isfinite(clearance) and isfinite(other_clearance)) or other_clearance == clearance:
        return None
    along = -clearance * (other - place) / (other_clearance - clearance)
    return place + round(along) if abs(along) < 1e6 else None


def solved(problems: Sequence[Problem]) -> list[Problem]:
    """Those of the problems that can be solved; of each its two places ``passing`` and ``failing`` are neighbours."""
    known = [each for each in problems if isfinite(each.lever.start) and isfinite(each.lever.extreme)]
    going, done = [each for each in known if each.last > 0], []
    for _ in range(ROUNDS):
        going = [problem.after(tried) for problem, tried in zip(going, _tried(going), strict=True)]
        done += [problem for problem in going if problem.solved]
        going = [problem for problem in going if not (problem.solved or problem.hopeless)]
        if not going:
            break
    return done


def _tried(problems: Sequence[Problem]) -> list[dict[int, Try]]:
    """The next places of every problem tried, all in one call of the engine; what several ask for is tried once."""
    wanted = [(problem, problem.next_places()) for problem in problems]
    builds: dict[tuple[object, ...], Build] = {}
    for problem, places in wanted:
        for place in places:
            key = _key(problem, place)
            if key not in builds:
                builds[key] = problem.lever.make(problem.value(place))
    verdicts, index = evaluate(list(builds.values())), {key: i for i, key in enumerate(builds)}
    return [
        {place: _try(verdicts, index[_key(problem, place)], problem.check) for place in places}
        for problem, places in wanted
    ]


def _key(problem: Problem, place: int) -> tuple[object, ...]:
    lever = problem.lever
    return problem.owner, lever.name, lever.pointer, lever.item, problem.value(place)


def _try(verdicts: Verdicts, index: int, check: str) -> Try:
    settled, row = verdicts.place(index)
    of = [place for place, label in enumerate(settled.headings.labels) if label.check == check]
    passes = bool((settled.codes[of, row] <= CLEAR).all())
    return Try(passes, min(_clearance(settled, row, place) for place in of), verdicts, index)


def _clearance(settled: Settled, row: int, place: int) -> float:
    """By how much a finding is clear of what is asked, below zero where it is not; infinite where nothing is known."""
    if settled.codes[place, row] < CLEAR:
        return inf
    guard = guard_factor(settled.builds[row].axle.axle.policy.clear_probability)
    margins, spreads = settled.judged[place, :, row], settled.spreads[place, :, row]
    by_margin = float(margins[0] - settled.headings.reserves[place, 0] - guard * spreads[0])
    if isfinite(by_margin):
        return by_margin
    by_factory = float(margins[2] - guard * spreads[2])
    return by_factory if isfinite(by_factory) else -inf
