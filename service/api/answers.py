"""What operations declare of their answers, for the OpenAPI document."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Header, Path
from pydantic import BaseModel
from starlette.requests import Request

from service.api.conditions import whole_list
from service.api.schemas.problem import Problem
from service.api.schemas.values import NAME_PATTERN, End

Answers = dict[int | str, dict[str, Any]]

_TEXT = {"type": "string"}
_HEADERS = {
    "ETag": {"description": "Strong entity tag of the revision.", "schema": _TEXT},
    "Location": {"description": "Where to read it.", "schema": _TEXT},
    "Link": {"description": 'The next page, with rel="next", if there is one.', "schema": _TEXT},
    "Allow": {"description": "The methods that the address takes.", "schema": _TEXT},
    "Preference-Applied": {"description": "What was granted of the header Prefer.", "schema": _TEXT},
    "Retry-After": {"description": "Seconds to wait before trying again.", "schema": {"type": "integer"}},
}
_PROBLEMS = {
    400: "The body is not UTF-8 or no JSON, or a name stands twice in one object.",
    404: "There is no such thing.",
    409: "The name is taken, or belongs to something withdrawn.",
    412: "If-Match names a revision that is not in force any more.",
    413: "The body is over the limit.",
    415: "The body is not declared to be of a media type that the operation takes.",
    422: "Something in the request is not valid; `errors` says what.",
    428: "If-Match is missing.",
    503: "The database cannot be reached.",
}
READS = (404, 503)
TAKES_BODY = (400, 413, 415, 422, 503)


def answers(good: Answers, *problems: int) -> Answers:
    """The declared answers of an operation: the good ones, and the problems it can end in."""
    return good | {
        status: {
            "model": Problem,
            "description": _PROBLEMS[status],
            **({"headers": {"Retry-After": _HEADERS["Retry-After"]}} if status == 503 else {}),
        }
        for status in sorted(set(problems))
    }


def good(model: type[BaseModel] | Any, description: str, *headers: str) -> dict[str, Any]:
    return {"model": model, "description": description, "headers": {name: _HEADERS[name] for name in headers}}


def bare(description: str, *headers: str) -> dict[str, Any]:
    """An answer without a body."""
    return {"description": description, "headers": {name: _HEADERS[name] for name in headers}}


NOT_MODIFIED = bare("The client has this revision already.", "ETag")

_IF_MATCH = Header(alias="if-match", description="ETag of the revision that the change was made from. Required.")
_IF_NONE_MATCH = Header(alias="if-none-match", description="ETag of a revision that the client has already.")


async def _if_match(request: Request, _declared: Annotated[str | None, _IF_MATCH] = None) -> str | None:
    return whole_list(request, "if-match")


async def _if_none_match(request: Request, _declared: Annotated[str | None, _IF_NONE_MATCH] = None) -> str | None:
    return whole_list(request, "if-none-match")


IfMatch = Annotated[str | None, Depends(_if_match)]
IfNoneMatch = Annotated[str | None, Depends(_if_none_match)]
VehicleName = Annotated[str, Path(pattern=NAME_PATTERN, description="The vehicle's id.")]
SkuName = Annotated[str, Path(pattern=NAME_PATTERN, description="The part's SKU.")]
EndName = Annotated[End, Path(description="Which end of the vehicle.")]
RevisionNumber = Annotated[int, Path(ge=1, le=999_999_999)]
