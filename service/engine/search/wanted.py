"""What a search is asked for, and what it finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.engine.axle import Axle
from service.engine.build import NO_LOAD, ProposedPart
from service.engine.envelope import Duty, Load, TargetLift

MOST_COMBINATIONS = 1_000_000
"""More are refused: at up to some forty microseconds each the answer would take longer than anybody waits for it."""
MOST_LISTED = 1_000
"""Clear combinations that are told; how many there are is counted all the same."""


class TooManyError(ValueError):
    """``combinations`` are more than the ``most`` that a search looks at."""

    def __init__(self, combinations: int, most: int = MOST_COMBINATIONS) -> None:
        super().__init__(f"These choices make {combinations:,} combinations, and a search looks at {most:,} at most.")
        self.combinations, self.most = combinations, most


@dataclass(frozen=True, slots=True)
class Wanted:
    """An axle with its load and duty, and the parts among which a build on it is to be found.

    ``kept`` parts are in every combination. ``choices`` maps a kind of part to those of which one may be fitted on each
    wheel, or none; a kind that is kept must not be among them, nor an accessory. ``most_parts`` counts kept ones too.
    """

    axle: Axle
    kept: tuple[ProposedPart, ...] = ()
    choices: Mapping[str, tuple[ProposedPart, ...]] = field(default_factory=dict)
    load: Load = NO_LOAD
    duty: Duty = "rock_and_articulation"
    target: TargetLift | None = None
    most_parts: int | None = None
    near_misses: int = 5


@dataclass(frozen=True, slots=True)
class Worst:
    """The check with the least to spare of those whose margin is known, or the one that holds a near miss back.

    Figures are in its ``quantity``'s unit.
    """

    check: str
    outcome: str
    at: str
    quantity: str
    margin: float | None
    standard_uncertainty: float | None
    conformity_probability: float | None
    because: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """One combination: ``parts`` kept and chosen; ``lift_mm`` with its expanded uncertainty (k = 2).

    Its verdict is that of the parts and the load; where the lift is not the one wanted (``asks_lift``), of that wish
    too.
    ``lift_error_mm`` is its distance from the target to a tenth, as a tape tells no more, and
    ``nonconformity_probability`` the greatest P(margin < 0) of the required checks whose margin is known, to six
    digits.
    """

    parts: tuple[ProposedPart, ...]
    verdict: str
    lift_mm: tuple[float, float] | None
    lift_error_mm: float | None
    nonconformity_probability: float | None
    worst: Worst
    asks_lift: bool


@dataclass(frozen=True, slots=True)
class Found:
    """``clear`` combinations, best first, at most ``MOST_LISTED`` of ``clear_in_all``; ``near_misses`` alike.

    Of all ``combinations`` the engine ``refused`` some as impossible; ``pruned`` are those that a bound settled, and
    ``evaluated`` those that were evaluated in full.
    """

    combinations: int
    refused: int
    pruned: int
    evaluated: int
    clear_in_all: int
    clear: tuple[Candidate, ...]
    near_misses: tuple[Candidate, ...]
