"""Which combinations of catalogued parts would fit: every one that there is, none left out.

Exact, and yet most of them are never evaluated in full: what fails in the best corner of its block (``bounds``), or
already as it is read (``as_read``), cannot be clear. Both bounds lean to the safe side of rounding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from math import isfinite, isnan

from service.engine.decision import CLEAR, MARGINAL, OUTCOMES, UNDETERMINED
from service.engine.evaluation import Verdicts, evaluate
from service.engine.search.axes import count_of
from service.engine.search.blocks import blocks_of
from service.engine.search.looking import Looking
from service.engine.search.ranking import Ranked, off_target
from service.engine.search.space import Space, space_of
from service.engine.search.wanted import (
    MOST_COMBINATIONS,
    MOST_LISTED,
    Candidate,
    Found,
    TooManyError,
    Wanted,
    Worst,
)
from service.engine.told import Told, conformity_of, decisive

__all__ = [
    "MOST_COMBINATIONS",
    "MOST_LISTED",
    "Candidate",
    "Found",
    "TooManyError",
    "Wanted",
    "Worst",
    "combinations",
    "search",
]

Tell = Callable[[int, int], None]
"""Is told how many combinations have been looked at, and of how many."""


def combinations(wanted: Wanted) -> int:
    """How many combinations a search would look at. Raises ``RefusedError`` where what is kept cannot be."""
    space = space_of(wanted)
    return count_of(space.axes, space.left)


def search(wanted: Wanted, tell: Tell = lambda _done, _of: None) -> Found:
    """All combinations of ``wanted.choices`` that are clear beside what is kept, best first (see ``ranking``), and the
    best of those that one check alone holds back.

    At most one part of each kind, one of it on each wheel. Where a lift is wanted, its best estimate must be within the
    tolerance: springs are seldom made so exactly that it could be had for certain, and it is no matter of safety.
    Lengths in mm, masses in kg.

    Raises ``RefusedError`` where what is kept cannot be, ``TooManyError`` beyond ``MOST_COMBINATIONS``.
    """
    space = space_of(wanted)
    total = count_of(space.axes, space.left)
    if total > MOST_COMBINATIONS:
        raise TooManyError(total)
    looking, done = Looking(space), 0
    tell(done, total)
    for blocks in blocks_of(space):
        done += looking.at(blocks)
        tell(done, total)
    near = looking.near_misses(lambda: tell(done, total))
    clear = looking.clear
    return Found(
        looking.combinations,
        looking.refused,
        looking.combinations - looking.evaluated,
        looking.evaluated,
        len(clear.error_mm),
        _candidates(space, clear.best(MOST_LISTED)),
        _candidates(space, near),
    )


def _candidates(space: Space, ranked: Ranked) -> tuple[Candidate, ...]:
    """Combinations in words, each by the same road as a single evaluation."""
    off = off_target(ranked.lift_mm, space.wanted_lift()).tolist()
    builds = [space.build(pick, asks_lift=asks) for pick, asks in zip(ranked.picks.T, off, strict=True)]
    verdicts = evaluate(builds)
    return tuple(_candidate(space, ranked, verdicts, place, asks_lift=asks) for place, asks in enumerate(off))


def _candidate(space: Space, ranked: Ranked, verdicts: Verdicts, place: int, *, asks_lift: bool) -> Candidate:
    verdict, checks = OUTCOMES[verdicts.codes[place]], verdicts.checks(place)
    lift, error = verdicts.lift_mm(place), float(ranked.error_mm[place])
    nonconformity = float(ranked.nonconformity[place])
    return Candidate(
        space.parts(ranked.picks[:, place]),
        verdict,
        None if isnan(lift[0]) else lift,
        error if space.wanted.target is not None and isfinite(error) else None,
        None if isnan(nonconformity) else nonconformity,
        _worst(next(_holding(checks), None) or _least_to_spare(verdict, checks)),
        asks_lift,
    )


def _holding(checks: Iterable[Told]) -> Iterator[Told]:
    """What keeps a combination from being found: a check that is not clear, or a lift that is not known."""
    for check in checks:
        unknown_lift = check.label.check == "ride_height" and check.code == UNDETERMINED
        if check.code > CLEAR and (check.label.required or check.code == MARGINAL or unknown_lift):
            yield check


def _least_to_spare(verdict: str, checks: list[Told]) -> Told:
    """The check of a clear combination nearest to failing, of those whose margin is known."""
    return decisive(verdict, [check for check in checks if isfinite(check.margin)] or checks)


def _worst(told: Told) -> Worst:
    known = isfinite(told.margin) and isfinite(told.spread)
    return Worst(
        told.label.check,
        OUTCOMES[told.code],
        told.label.bound_at if told.condemned else told.label.at,
        told.label.quantity,
        told.margin if known else None,
        told.spread if known else None,
        conformity_of(told.margin, told.spread) if known else None,
        told.because(),
    )
