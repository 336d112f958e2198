"""Many evaluations in one request: each is answered by itself, and the engine is called once for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import orjson
from fastapi import APIRouter
from fastapi.exceptions import RequestValidationError
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import TAKES_BODY, answers, good
from service.api.body import JsonRoute
from service.api.once import along
from service.api.problems import problem_of
from service.api.questions import asked, read_question
from service.api.schemas.batch import BatchRequest, BatchResults
from service.api.schemas.evaluation import EvaluationRequest
from service.web import Asked, Decided, decide_all, service_of

router = APIRouter(prefix="/v1/evaluations", tags=["evaluations"], route_class=JsonRoute)


@router.post(
    "/batch", responses=answers({200: good(BatchResults, "A verdict or a problem for each request.")}, *TAKES_BODY)
)
async def evaluate_batch(request: Request, batch: BatchRequest) -> Response:
    """Evaluate 1 to 1000 combinations. One that cannot be judged never spoils the others.

    The limit on the size of a request's body holds for all of them together.
    """
    items = [_asked(item) for item in batch.requests]
    respond = partial(_response, items, request.url.path)
    questions = [item for item in items if isinstance(item, Asked)]
    return respond(await decide_all(service_of(request), questions, along(request, respond)))


def _response(
    items: Sequence[Asked | RequestValidationError], path: str, decided: Sequence[Decided | Exception]
) -> Response:
    judged = iter(decided)
    answered = (next(judged) if isinstance(item, Asked) else item for item in items)
    results = [_result(answer, path, f"/requests/{index}") for index, answer in enumerate(answered)]
    return Response(b'{"results":[%b]}' % b",".join(results), media_type="application/json")


def _asked(item: object) -> Asked | RequestValidationError:
    try:
        return asked(item if isinstance(item, EvaluationRequest) else read_question(item))
    except RequestValidationError as error:
        return error


def _result(answer: Decided | Exception, path: str, pointer: str) -> bytes:
    """A verdict record, or a problem that says of which request it is by a pointer in the fragment of its instance."""
    if isinstance(answer, Decided):
        return answer.body
    return orjson.dumps(problem_of(answer, f"{path}#{pointer}", pointer))
