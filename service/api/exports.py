"""Exporting: the catalogue as files that importing takes."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import answers
from service.api.body import JsonRoute, ParameterError
from service.api.interchange import unload
from service.api.interchange.rows import FileForm
from service.api.schemas.catalogued_parts import CataloguedKind
from service.web import service_of

router = APIRouter(prefix="/v1/exports", tags=["interchange"], route_class=JsonRoute)

_TEXT = {"schema": {"type": "string"}}
FILE = {
    "description": "The file. What the catalogue holds in the same state comes out in the same bytes.",
    "content": {"text/csv": _TEXT, "application/jsonl": _TEXT},
    "headers": {"Content-Disposition": {"description": "A name for the file.", "schema": {"type": "string"}}},
}


class ExportQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    format: FileForm = Field(default="jsonl", description="JSON Lines hold the whole catalogue, CSV parts of one kind.")
    kind: CataloguedKind | None = Field(default=None, description="Parts of this kind alone. Required for CSV.")


@router.get("", response_class=Response, responses=answers({200: FILE}, 422, 503))
def export_file(request: Request, query: Annotated[ExportQuery, Query()]) -> Response:
    """What the catalogue holds now, withdrawn things too, in the form that an import takes."""
    with service_of(request).database.snapshot() as connection:
        if query.format == "jsonl":
            content, media_type = unload.json_lines(connection, query.kind), "application/jsonl"
        elif query.kind is not None:
            content, media_type = unload.csv_file(connection, query.kind), "text/csv; charset=utf-8"
        else:
            raise ParameterError("kind", "is missing: a CSV file holds the parts of one kind")
    name = f"{query.kind or 'catalogue'}.{query.format}"
    return Response(content, 200, {"Content-Disposition": f'attachment; filename="{name}"'}, media_type)
