"""Axles: one envelope for each end of a vehicle."""

from typing import Annotated, Any

from fastapi import APIRouter, Query
from sqlalchemy import Connection
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import (
    NOT_MODIFIED,
    READS,
    TAKES_BODY,
    EndName,
    IfMatch,
    IfNoneMatch,
    RevisionNumber,
    VehicleName,
    answers,
    good,
)
from service.api.body import JsonRoute
from service.api.named import agree
from service.api.paging import PageQuery
from service.api.schemas.axle import MeasuredAxle
from service.api.schemas.stored import AxleItems, StoredAxle
from service.api.shelves import Door, shown
from service.catalogue.checking import check_axle
from service.catalogue.revisions import AXLES, VEHICLES, Key, StaleRevisionError, Stored, exists
from service.web import service_of

router = APIRouter(prefix="/v1/vehicles/{vehicle_id}/axles/{end}", tags=["axles"], route_class=JsonRoute)


def _check(connection: Connection, key: Key, body: dict[str, Any]) -> None:
    check_axle(connection, key, body)


def _shown(stored: Stored) -> dict[str, Any]:
    vehicle, end = stored.key
    return {"vehicle": vehicle, "end": end, **shown(stored), "status": stored.status}


DOOR = Door(AXLES, _check, show=_shown, owners=VEHICLES)


@router.get("", responses=answers({200: good(StoredAxle, "The axle.", "ETag"), 304: NOT_MODIFIED}, *READS))
def read_axle(request: Request, vehicle_id: VehicleName, end: EndName, if_none_match: IfNoneMatch = None) -> Response:
    """The axle as it was measured last."""
    return DOOR.read(request, (vehicle_id, end), if_none_match)


@router.put(
    "",
    responses=answers(
        {
            200: good(StoredAxle, "The new revision.", "ETag"),
            201: good(StoredAxle, "The axle as catalogued: there was none.", "ETag", "Location"),
        },
        404, 409, 412, 428, *TAKES_BODY,
    ),
)  # fmt: skip
def put_axle(
    request: Request, vehicle_id: VehicleName, end: EndName, axle: MeasuredAxle, if_match: IfMatch = None
) -> Response:
    """Put an axle's measurements in force. The first time needs no If-Match."""
    agree("vehicle", axle.vehicle, vehicle_id)
    agree("end", axle.end, end)
    key, body = (vehicle_id, end), axle.model_dump(exclude_none=True)
    with service_of(request).database.reading() as connection:
        is_there = exists(connection, AXLES, key)
    if is_there:
        return DOOR.change(request, key, body, if_match)
    if if_match is not None:
        raise StaleRevisionError(None)
    return DOOR.add(request, key, body, f"/v1/vehicles/{vehicle_id}/axles/{end}")


@router.get(
    "/revisions", responses=answers({200: good(AxleItems, "A page of revisions, newest first.", "Link")}, 404, 422, 503)
)
def list_axle_revisions(
    request: Request, vehicle_id: VehicleName, end: EndName, query: Annotated[PageQuery, Query()]
) -> Response:
    """Every revision of the axle."""
    return DOOR.history(request, (vehicle_id, end), query)


@router.get(
    "/revisions/{revision:int}",
    responses=answers({200: good(StoredAxle, "The revision.", "ETag"), 304: NOT_MODIFIED}, *READS),
)
def read_axle_revision(
    request: Request,
    vehicle_id: VehicleName,
    end: EndName,
    revision: RevisionNumber,
    if_none_match: IfNoneMatch = None,
) -> Response:
    """One revision of the axle."""
    return DOOR.read(request, (vehicle_id, end), if_none_match, revision)
