"""The OpenAPI document: the framework's own, with problems under their own media type."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service import __version__
from service.api.idempotency_key import PATTERN
from service.api.problems import MEDIA_TYPE
from service.api.scopes import needed_scope

DESCRIPTION = (
    "Decides whether a proposed combination of suspension parts is mechanically safe on a vehicle axle, and says why. "
    "A verdict concerns life and limb and is no substitute for a licensed fitter's inspection or for local codes. "
    "Every answer has the header X-Request-Id. Units are part of each field's name."
)


KEY = {
    "type": "http",
    "scheme": "bearer",
    "description": (
        "A key that the service's operator issues, for some of the scopes `evaluate`, `catalogue` and `admin` (which "
        "has all). A service that only its own machine can reach may run without; it then answers to `localhost` and "
        "to numbers alone, and to any other name in Host with 421."
    ),
}
IDEMPOTENCY_KEY = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "description": (
        "A text of the client's own in double quotes, new for each request. The same request under the same key is "
        "done once: for 24 hours it gets the first answer again. Another request under the key is refused with 422."
    ),
    "schema": {"type": "string", "pattern": PATTERN},
    "example": '"8e03978e-40d5-43e8-bc93-6894a57f9324"',
}
TURNED_AWAY = {
    str(status): {
        "description": description,
        "headers": {header: {"description": meaning, "schema": {"type": kind}}},
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    for status, description, header, meaning, kind in (
        (401, "There is no key, or none that is in force.", "WWW-Authenticate", "What is missing.", "string"),
        (403, "The key lacks the scope.", "WWW-Authenticate", "The scope that is missing.", "string"),
        (429, "The caller has used up its requests for now.", "Retry-After", "Seconds to wait.", "integer"),
    )
}


def openapi_document(app: FastAPI) -> dict[str, Any]:
    """The document, made once for an app."""
    if app.openapi_schema is None:
        document = get_openapi(
            title="Coilgap",
            version=__version__,
            description=DESCRIPTION,
            routes=app.routes,
            separate_input_output_schemas=False,
        )
        needs_keys = app.state.service.settings.needs_keys
        for path, operations in document["paths"].items():
            for method, operation in operations.items():
                _finish(operation["responses"])
                if method == "post":
                    operation["parameters"] = [*operation.get("parameters", ()), IDEMPOTENCY_KEY]
                    operation["responses"]["400"]["description"] += " Or the Idempotency-Key cannot be read."
                scope = needed_scope(method.upper(), path)
                if scope is not None:
                    _lock(operation, scope, needs_keys=needs_keys)
        document["components"]["securitySchemes"] = {"key": KEY}
        for unused in ("HTTPValidationError", "ValidationError"):
            document["components"]["schemas"].pop(unused, None)
        app.openapi_schema = document
    return app.openapi_schema


def _lock(operation: dict[str, Any], scope: str, *, needs_keys: bool) -> None:
    """Say which scope an operation needs; without ``needs_keys`` it also takes requests without a key."""
    operation["security"] = [{"key": [scope]}, *([] if needs_keys else [{}])]
    operation["responses"] |= TURNED_AWAY


def _finish(answers: dict[str, Any]) -> None:
    if "HTTPValidationError" in str(answers.get("422")):
        del answers["422"]  # the framework's guess; an address that cannot be is answered with 404 here
    for status, answer in answers.items():
        if status >= "400":
            answer["content"] = {MEDIA_TYPE: answer["content"]["application/json"]}
        elif status in ("204", "304"):
            answer.pop("content", None)
