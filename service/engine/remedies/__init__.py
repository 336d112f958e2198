"""From "no" to "this instead": the smallest single change of one dimension that makes a failing check clear.

Solved for with the engine itself, and evaluated with the change in place, so that what it costs elsewhere is known too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from service.engine.build import Build
from service.engine.decision import ACTIONS, CLEAR, NOT_APPLICABLE, OUTCOMES
from service.engine.envelope import LoadItem
from service.engine.evaluation import Verdicts
from service.engine.numbers_out import number, result
from service.engine.remedies.levers import COARSE_STEP, Lever, Seen, levers_of
from service.engine.remedies.sentences import sentence
from service.engine.remedies.solving import Problem, solved
from service.engine.settled import DIGITS
from service.engine.told import Told

NOTICEABLE = 0.05
"""A margin that shrinks by less, in its own unit, is not worth telling."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change: ``told`` is its form in the record; ``build`` has it in place, ``make`` any other number instead.

    ``kind`` is that of the part that it changes, ``item`` the mass on board; with neither it is the load as a whole
    (``told["field"]`` says which) or the axle's own limit.
    """

    told: Mapping[str, object]
    build: Build
    make: Callable[[float], Build]
    kind: str
    item: LoadItem | None


def remedies(verdicts: Verdicts, indices: Sequence[int]) -> list[tuple[Remedy, ...]]:
    """For each of some builds of ``verdicts``, by their index, what would mend each failing required check.

    Every remedy makes its check clear, and one step less of it does not. They stand in the order of the checks; for one
    check those first that leave the best verdict, then those that break nothing, then the smaller change. All are
    solved together: a few calls of the engine for any number of builds.
    """
    found: list[list[Problem]] = [[] for _ in indices]
    wanted = [Problem(i, check, lever) for i, index in enumerate(indices) for lever, check in _wanted(verdicts, index)]
    for problem in solved(wanted):
        if problem.mended_at is not None and _value(problem) != problem.lever.was:
            found[problem.owner].append(problem)
    return [_ordered(verdicts, index, some) for index, some in zip(indices, found, strict=True)]


def failing(verdicts: Verdicts, index: int) -> list[Told]:
    """The required checks on a build that are not clear, worst first."""
    return [check for check in verdicts.checks(index) if check.label.required and check.code > CLEAR]


def is_costly(verdicts: Verdicts, index: int) -> bool:
    """Whether solving compiles a surveyed geometry anew, which takes a while."""
    return any(lever.step == COARSE_STEP for lever, _ in _wanted(verdicts, index))


def _wanted(verdicts: Verdicts, index: int) -> list[tuple[Lever, str]]:
    settled, row = verdicts.place(index)
    build, positions = settled.builds[row], settled.positions.values[:, :, row]
    return [
        (lever, check.label.check)
        for check in failing(verdicts, index)
        for lever in levers_of(Seen(build, check, positions))
    ]


def _ordered(verdicts: Verdicts, index: int, some: Sequence[Problem]) -> tuple[Remedy, ...]:
    before = {check.label.check: check for check in verdicts.checks(index)}
    single = {problem.check for problem in some if problem.lever.name in ("mass", "occupants")}
    kept = [p for p in some if p.lever.name != "whole_load" or p.check not in single]
    told = [(_remedy(verdicts, index, before, problem), problem) for problem in kept]
    places = list(before)
    told.sort(key=lambda pair: (places.index(pair[1].check), *_rank(*pair)))
    return tuple(remedy for remedy, _ in told)


def _rank(remedy: Remedy, problem: Problem) -> tuple[int, bool, float]:
    lever = problem.lever
    before = lever.start if lever.was is None else lever.was
    change = abs(_value(problem) - before) / max(abs(before), 1.0)
    breaks = remedy.told["breaks"]
    return OUTCOMES.index(str(remedy.told["verdict"])), bool(breaks), change


def _remedy(verdicts: Verdicts, index: int, before: Mapping[str, Told], problem: Problem) -> Remedy:
    lever, becomes, passed = problem.lever, _value(problem), problem.tried[_place(problem)]
    settled, row = passed.verdicts.place(passed.index)
    now = {check.label.check: check for check in passed.verdicts.checks(passed.index)}
    verdict = OUTCOMES[passed.verdicts.codes[passed.index]]
    worse = [(was, now[name]) for name, was in before.items() if name != problem.check and name in now]
    worse = [(was, then) for was, then in worse if _is_worse(was, then)]
    lift, lift_before = passed.verdicts.lift_mm(passed.index), verdicts.lift_mm(index)
    told = {
        "check": problem.check,
        "field": lever.pointer,
        "bound": lever.bound,
        "was": lever.was,
        "becomes": becomes,
        "step": lever.step,
        "says": sentence(lever, becomes, problem.check),
        "verdict": verdict,
        "action": ACTIONS[verdict],
        "lift_mm": result(*lift),
        "lift_change_mm": _change(lift[0], lift_before[0]),
        "bump_travel_change_mm": _travel_change(before, now, "bump_travel_left"),
        "droop_travel_change_mm": _travel_change(before, now, "droop_travel_left"),
        "worsens": [_worsened(*pair) for pair in worse],
        "breaks": [was.label.check for was, then in worse if _outcome(then) > _outcome(was)],
    }
    return Remedy(told, settled.builds[row], lever.make, lever.kind, lever.item)


def _place(problem: Problem) -> int:
    assert problem.mended_at is not None  # noqa: S101 - else it has been left out
    return problem.mended_at


def _value(problem: Problem) -> float:
    return problem.value(_place(problem))


def _outcome(check: Told) -> int:
    return max(check.code, CLEAR)


def _is_worse(was: Told, now: Told) -> bool:
    same = was.label.quantity == now.label.quantity and now.code != NOT_APPLICABLE
    return _outcome(now) > _outcome(was) or (same and now.margin < was.margin - NOTICEABLE)


def _worsened(was: Told, now: Told) -> dict[str, object]:
    return {
        "check": was.label.check,
        "was": OUTCOMES[was.code],
        "becomes": OUTCOMES[now.code],
        "margin_was": number(was.margin),
        "margin_becomes": number(now.margin),
        "quantity": now.label.quantity,
    }


def _travel_change(before: Mapping[str, Told], now: Mapping[str, Told], check: str) -> float | None:
    return _change(now[check].details["travel_left_mm"], before[check].details["travel_left_mm"])


def _change(now: float, before: float) -> float | None:
    return number(round(now - before, DIGITS) + 0.0)
