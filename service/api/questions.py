"""Questions that the framework does not read: the same one again need not be read, and of many some may be bad."""

from __future__ import annotations

from typing import Any

from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError

from service.api.schemas.evaluation import EvaluationRequest
from service.web import Asked

QUESTION_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{EvaluationRequest.__name__}"}}},
    }
}
"""The OpenAPI document's words on the body of one question, whose schema is there for the batch's sake."""


def read_question(value: object) -> EvaluationRequest:
    """The question that a JSON value is. Raises ``RequestValidationError`` as the framework would."""
    try:
        return EvaluationRequest.model_validate(value)
    except ValidationError as error:
        faults = [{**fault, "loc": ("body", *fault["loc"])} for fault in error.errors(include_url=False)]
        raise RequestValidationError(faults, body=value) from None


def asked(question: EvaluationRequest) -> Asked:
    """A question without what was left out, and apart from it whether its verdict is to be kept."""
    body = question.model_dump(exclude_none=True)
    if question.remedies:
        del body["remedies"]
    return Asked(body, body.pop("record"))
