"""Parts."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Query
from pydantic import Field
from sqlalchemy import Connection
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import (
    NOT_MODIFIED,
    READS,
    TAKES_BODY,
    IfMatch,
    IfNoneMatch,
    RevisionNumber,
    SkuName,
    answers,
    bare,
    good,
)
from service.api.body import JsonRoute
from service.api.named import body_named
from service.api.paging import PageQuery, page_response
from service.api.schemas.catalogued_parts import SEARCHED, CataloguedKind, CataloguedPart
from service.api.schemas.stored import PartItems, StoredPart
from service.api.schemas.values import Line
from service.api.shelves import Door, shown
from service.catalogue import listing
from service.catalogue.checking import check_catalogued_part, check_kit
from service.catalogue.revisions import PARTS, Key
from service.web import service_of

router = APIRouter(prefix="/v1/parts", tags=["parts"], route_class=JsonRoute)

NewPart = Annotated[CataloguedPart, Body(json_schema_extra={"required": ["sku"]})]


def _check(connection: Connection, key: Key, body: dict[str, Any]) -> None:
    check_catalogued_part(body)
    check_kit(connection, key, body)


DOOR = Door(PARTS, _check, SEARCHED)


class PartQuery(PageQuery):
    kind: CataloguedKind | None = None
    supplier: Line | None = None
    q: Line | None = Field(default=None, description="Words to look for in SKU and name, in any case.")
    status: Literal["active", "withdrawn", "any"] = "active"


@router.get("", responses=answers({200: good(PartItems, "A page of parts, by SKU.", "Link")}, 422, 503))
def list_parts(request: Request, query: Annotated[PartQuery, Query()]) -> Response:
    """The parts of the catalogue."""
    wanted = listing.PartFilter(query.kind, query.supplier, query.q)
    status = None if query.status == "any" else query.status
    with service_of(request).database.reading() as connection:
        page = listing.parts(connection, wanted, status, query.after(), query.limit)
    return page_response(request, [shown(item) for item in page.items], page.items[-1].key[-1] if page.more else None)


@router.post(
    "",
    status_code=201,
    responses=answers({201: good(StoredPart, "The part as catalogued.", "ETag", "Location")}, 409, *TAKES_BODY),
)
def add_part(request: Request, part: NewPart) -> Response:
    """Catalogue a new part."""
    sku, body = body_named("sku", part)
    return DOOR.add(request, (sku,), body, f"/v1/parts/{sku}")


@router.get("/{sku}", responses=answers({200: good(StoredPart, "The part.", "ETag"), 304: NOT_MODIFIED}, *READS))
def read_part(request: Request, sku: SkuName, if_none_match: IfNoneMatch = None) -> Response:
    """The part as it is now; a withdrawn one stays readable."""
    return DOOR.read(request, (sku,), if_none_match)


@router.put(
    "/{sku}", responses=answers({200: good(StoredPart, "The new revision.", "ETag")}, 404, 412, 428, *TAKES_BODY)
)
def change_part(request: Request, sku: SkuName, part: CataloguedPart, if_match: IfMatch = None) -> Response:
    """Put a new revision in force."""
    _, body = body_named("sku", part, sku)
    return DOOR.change(request, (sku,), body, if_match)


@router.delete(
    "/{sku}", status_code=204, responses=answers({204: bare("It is withdrawn.", "ETag")}, 404, 412, 428, 503)
)
def withdraw_part(request: Request, sku: SkuName, if_match: IfMatch = None) -> Response:
    """Withdraw a part: no new evaluation may use it; it, its history and every verdict stay readable."""
    return DOOR.withdraw(request, (sku,), if_match)


@router.get(
    "/{sku}/revisions",
    responses=answers({200: good(PartItems, "A page of revisions, newest first.", "Link")}, 404, 422, 503),
)
def list_part_revisions(request: Request, sku: SkuName, query: Annotated[PageQuery, Query()]) -> Response:
    """Every revision of the part."""
    return DOOR.history(request, (sku,), query)


@router.get(
    "/{sku}/revisions/{revision:int}",
    responses=answers({200: good(StoredPart, "The revision.", "ETag"), 304: NOT_MODIFIED}, *READS),
)
def read_part_revision(
    request: Request, sku: SkuName, revision: RevisionNumber, if_none_match: IfNoneMatch = None
) -> Response:
    """One revision of the part."""
    return DOOR.read(request, (sku,), if_none_match, revision)
