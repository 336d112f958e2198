"""A search for combinations that would fit: what is asked, and what is found."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from service.api.schemas.evaluation import HARDEST_DUTY, Axle, EvaluationRequest, Load, PartEntry
from service.api.schemas.parts import ChangeableKind
from service.api.schemas.problem import Problem
from service.api.schemas.values import WHOLE, Action, Duty, Line, Reading, Strict, Time, VerdictWord
from service.api.schemas.verdict import Result


def _each_once(kinds: list[str]) -> list[str]:
    for index, kind in enumerate(kinds):
        if kind in kinds[:index]:
            raise PydanticCustomError("twice", "names {kind} twice", {"kind": kind})
    return kinds


class SearchRequest(Strict):
    """Which combinations of catalogued parts would be clear on one axle? At most one part of each kind that may change.

    Choices are the active parts that are sold for the axle; to one that comes with the request, those sold for any.
    """

    axle: Axle
    load: Load | None = None
    duty: Duty = Field(
        default=HARDEST_DUTY, description="What the vehicle is used for; left out, the hardest is taken."
    )
    policy: Literal["standard"] = "standard"
    target_lift_mm: Reading | None = Field(
        default=None, description="The lift that is wanted; it is met by the best estimate of a combination's lift."
    )
    lift_tolerance_mm: Annotated[float, Field(gt=0, le=400)] | None = Field(
        default=None,
        description="How far from `target_lift_mm` the lift may be, either way; left out, as far as the policy says.",
    )
    kinds: Annotated[
        list[ChangeableKind],
        Field(min_length=1, json_schema_extra={"uniqueItems": True}),
        AfterValidator(_each_once),
    ] = Field(description="The kinds of part that may change. None of a kind is always a choice too.")
    keep: Annotated[list[PartEntry], Field(max_length=100)] = Field(
        default_factory=list, description="Parts that must stay; of kinds that may not change."
    )
    suppliers: Annotated[list[Line], Field(min_length=1, max_length=100)] | None = Field(
        default=None, description="Whose parts may be chosen; left out, anybody's."
    )
    most_parts: Annotated[int, Field(ge=1, le=20), WHOLE] | None = Field(
        default=None, description="How many parts there may be on one wheel, those that must stay included."
    )
    near_misses: Annotated[int, Field(ge=0, le=20), WHOLE] = Field(
        default=5, description="How many combinations to tell that one check alone keeps from being clear."
    )
    limit: Annotated[int, Field(ge=1, le=200), WHOLE] = Field(
        default=50, description="How many combinations the first page has."
    )


class SearchProgress(Strict):
    """How many combinations have been looked at, and of how many."""

    done: int
    of: int


class SearchCounts(Strict):
    """Combinations that there are without those `refused` as impossible; of them, those settled by a bound, those
    evaluated in full, and those that are clear. The best thousand of these are listed.
    """

    combinations: int
    refused: int
    pruned: int
    evaluated: int
    clear: int


class SearchCatalogue(Strict):
    """What the search rests on: revisions, null for an axle that came with the request, and how many parts of each kind
    there were to choose from.
    """

    vehicle_revision: int | None
    axle_revision: int | None
    choices: dict[str, int]
    engine_version: str
    policy_version: int


class WorstCheck(Strict):
    """The check with the least to spare; of a near miss, the one that holds it back."""

    check: str
    outcome: Literal["clear", "marginal", "undetermined", "unsafe", "not_applicable"]
    at: str | None
    quantity: str
    margin: float | None
    standard_uncertainty: float | None
    conformity_probability: float | None
    because: str


class FoundCombination(Strict):
    """One combination. `question` is the evaluation that gives this verdict as long as the catalogue stays as it is."""

    rank: int
    parts: list[PartEntry]
    verdict: VerdictWord
    action: Action
    lift_mm: Result | None
    lift_error_mm: float | None = Field(
        description="Distance of the lift from the one that is wanted, to a tenth; null where none is wanted or known."
    )
    nonconformity_probability: float | None = Field(
        description="The greatest probability that a required check does not conform; null where no margin is known."
    )
    worst: WorstCheck
    question: EvaluationRequest


class Search(Strict):
    """A search: how far it is, and when it is done, a page of what it found.

    `items` are clear; `near_misses` are held back by one check each. Both are ordered by the distance from the lift
    that is wanted, then by the probability that a required check does not conform, then by the number of parts, then by
    SKUs.
    """

    id: str
    status: Literal["running", "done", "failed"]
    progress: SearchProgress
    asked_at: Time
    expires_at: Time
    counts: SearchCounts | None
    catalogue: SearchCatalogue
    items: list[FoundCombination]
    next: str | None
    near_misses: list[FoundCombination]
    problem: Problem | None
