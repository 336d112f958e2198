"""The OpenAPI document: the framework's own, with problems under their own media type."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service import __version__
from service.api.problems import MEDIA_TYPE

DESCRIPTION = (
    "Decides whether a proposed combination of suspension parts is mechanically safe on a vehicle axle, and says why. "
    "A verdict concerns life and limb and is no substitute for a licensed fitter's inspection or for local codes. "
    "Every answer has the header X-Request-Id. Units are part of each field's name."
)


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
        for operations in document["paths"].values():
            for operation in operations.values():
                _finish(operation["responses"])
        for unused in ("HTTPValidationError", "ValidationError"):
            document["components"]["schemas"].pop(unused, None)
        app.openapi_schema = document
    return app.openapi_schema


def _finish(answers: dict[str, Any]) -> None:
    if "HTTPValidationError" in str(answers.get("422")):
        del answers["422"]  # the framework's guess; an address that cannot be is answered with 404 here
    for status, answer in answers.items():
        if status >= "400":
            answer["content"] = {MEDIA_TYPE: answer["content"]["application/json"]}
        elif status in ("204", "304"):
            answer.pop("content", None)
