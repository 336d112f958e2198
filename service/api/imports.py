"""Importing: files of parts, vehicles and axles into the catalogue, wholly or not at all."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import partial
from typing import Annotated, Any

import orjson
from fastapi import APIRouter, Query
from fastapi.routing import APIRoute
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import TAKES_BODY, answers, good
from service.api.body import asked_once
from service.api.interchange.load import Loaded, load
from service.api.interchange.rows import FileForm
from service.api.interchange.upload import MEDIA_TYPES, MULTIPART, uploaded_files
from service.api.once import keep_response, once
from service.api.schemas.catalogued_parts import CataloguedKind
from service.api.schemas.imports import ImportReport
from service.web import service_of

PATH = "/v1/imports"

_ANY: dict[str, Any] = {}  # what a text must be to be a file of the catalogue, a schema cannot say
_FILES = {"schema": {"type": "object", "properties": {"file": {}}}}
BODY = {
    "required": True,
    "description": "One file as it is, or several as `multipart/form-data`, each as a field with a file name.",
    "content": {**dict.fromkeys(MEDIA_TYPES, _ANY), MULTIPART: _FILES},
}


class ImportRoute(APIRoute):
    """A route that reads its body itself, and does each keyed POST once."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        handle = once(asked_once(super().get_route_handler()))

        async def answer(request: Request) -> Response:
            return await handle(request)

        return answer


router = APIRouter(prefix=PATH, tags=["interchange"], route_class=ImportRoute)


class ImportQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    format: FileForm | None = Field(
        default=None,
        description="Left out, the media type or a file's name says it; `application/octet-stream` needs it.",
    )
    kind: CataloguedKind | None = Field(
        default=None, description="Of the parts in CSV files that have no column `kind`."
    )
    dry_run: bool = Field(default=False, description="Report every bad row, and what would be done; import nothing.")


@router.post(
    "",
    responses=answers({200: good(ImportReport, "What was done, or would be.")}, *TAKES_BODY),
    openapi_extra={"requestBody": BODY},
)
async def import_files(request: Request, query: Annotated[ImportQuery, Query()]) -> Response:
    """Bring parts, vehicles and axles into the catalogue: all of them, or nothing where a single row is wrong.

    CSV in UTF-8 holds parts. Its first row names the columns: each as the field is named, unit and all, and for the
    half-width of a reading one more with `_plus_minus` behind it; an export of the kind shows them all. An empty cell
    is a field left out, names in `fits` are separated by semicolons, and a list of lists is JSON. A line of JSON Lines
    is the body of a part (`sku`, `kind`), a vehicle (`vehicle_id`) or an axle (`vehicle`, `end`). A row replaces what
    the catalogue has under its name, whatever its revision.
    """
    files = await uploaded_files(request, query.format, query.kind)

    def keep_along(connection: Connection, loaded: Loaded) -> None:
        keep_response(request, connection, _report(loaded, dry_run=False))

    work = partial(load, service_of(request).database, files, dry_run=query.dry_run, along=keep_along)
    return _report(await run_in_threadpool(work), dry_run=query.dry_run)


def _report(loaded: Loaded, *, dry_run: bool) -> Response:
    tally = loaded.tally
    report = {
        "dry_run": dry_run,
        "imported": not dry_run,
        "rows": loaded.rows,
        "created": tally.created,
        "revised": tally.revised,
        "unchanged": tally.unchanged,
        "errors": [fault.shown() for fault in loaded.faults],
    }
    return Response(orjson.dumps(report), media_type="application/json")
