"""Many evaluations in one request."""

from typing import Annotated, Any

from pydantic import Field

from service.api.schemas.evaluation import EvaluationRequest
from service.api.schemas.problem import Problem
from service.api.schemas.values import Strict
from service.api.schemas.verdict import VerdictRecord

MOST_REQUESTS = 1000

Item = Annotated[EvaluationRequest | Any, Field(union_mode="left_to_right")]
"""A question; or anything else, which is told what is wrong with it without spoiling the others."""


class BatchRequest(Strict):
    """Each request is one as for a single evaluation, and says itself whether its verdict is kept."""

    requests: Annotated[list[Item], Field(min_length=1, max_length=MOST_REQUESTS)]


class BatchResults(Strict):
    """For each request, in their order, its verdict record or its problem."""

    results: list[VerdictRecord | Problem]
