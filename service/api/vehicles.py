"""Vehicles."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Query
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
    VehicleName,
    answers,
    bare,
    good,
)
from service.api.body import JsonRoute
from service.api.named import body_named
from service.api.paging import PageQuery, page_response
from service.api.schemas.stored import StoredVehicle, VehicleItems
from service.api.schemas.vehicle import Vehicle
from service.api.shelves import Door, shown
from service.catalogue import listing
from service.catalogue.checking import check_vehicle
from service.catalogue.revisions import VEHICLES, Key
from service.web import service_of

router = APIRouter(prefix="/v1/vehicles", tags=["vehicles"], route_class=JsonRoute)

NewVehicle = Annotated[Vehicle, Body(json_schema_extra={"required": ["vehicle_id"]})]


def _check(connection: Connection, key: Key, body: dict[str, Any]) -> None:
    check_vehicle(connection, key[0], body["vehicle_masses"])


DOOR = Door(VEHICLES, _check)


class VehicleQuery(PageQuery):
    status: Literal["active", "withdrawn", "any"] = "active"


@router.get("", responses=answers({200: good(VehicleItems, "A page of vehicles, by id.", "Link")}, 422, 503))
def list_vehicles(request: Request, query: Annotated[VehicleQuery, Query()]) -> Response:
    """The vehicles of the catalogue."""
    status = None if query.status == "any" else query.status
    with service_of(request).database.reading() as connection:
        page = listing.things(connection, VEHICLES, status, query.after(), query.limit)
    return page_response(request, [shown(item) for item in page.items], page.items[-1].key[-1] if page.more else None)


@router.post(
    "",
    status_code=201,
    responses=answers({201: good(StoredVehicle, "The vehicle as catalogued.", "ETag", "Location")}, 409, *TAKES_BODY),
)
def add_vehicle(request: Request, vehicle: NewVehicle) -> Response:
    """Catalogue a new vehicle."""
    name, body = body_named("vehicle_id", vehicle)
    return DOOR.add(request, (name,), body, f"/v1/vehicles/{name}")


@router.get(
    "/{vehicle_id}",
    responses=answers({200: good(StoredVehicle, "The vehicle.", "ETag"), 304: NOT_MODIFIED}, *READS),
)
def read_vehicle(request: Request, vehicle_id: VehicleName, if_none_match: IfNoneMatch = None) -> Response:
    """The vehicle as it is now; a withdrawn one stays readable."""
    return DOOR.read(request, (vehicle_id,), if_none_match)


@router.put(
    "/{vehicle_id}",
    responses=answers({200: good(StoredVehicle, "The new revision.", "ETag")}, 404, 412, 428, *TAKES_BODY),
)
def change_vehicle(request: Request, vehicle_id: VehicleName, vehicle: Vehicle, if_match: IfMatch = None) -> Response:
    """Put a new revision in force."""
    _, body = body_named("vehicle_id", vehicle, vehicle_id)
    return DOOR.change(request, (vehicle_id,), body, if_match)


@router.delete(
    "/{vehicle_id}", status_code=204, responses=answers({204: bare("It is withdrawn.", "ETag")}, 404, 412, 428, 503)
)
def withdraw_vehicle(request: Request, vehicle_id: VehicleName, if_match: IfMatch = None) -> Response:
    """Withdraw a vehicle: no new evaluation may name it; it, its history and every verdict stay readable."""
    return DOOR.withdraw(request, (vehicle_id,), if_match)


@router.get(
    "/{vehicle_id}/revisions",
    responses=answers({200: good(VehicleItems, "A page of revisions, newest first.", "Link")}, 404, 422, 503),
)
def list_vehicle_revisions(request: Request, vehicle_id: VehicleName, query: Annotated[PageQuery, Query()]) -> Response:
    """Every revision of the vehicle."""
    return DOOR.history(request, (vehicle_id,), query)


@router.get(
    "/{vehicle_id}/revisions/{revision:int}",
    responses=answers({200: good(StoredVehicle, "The revision.", "ETag"), 304: NOT_MODIFIED}, *READS),
)
def read_vehicle_revision(
    request: Request, vehicle_id: VehicleName, revision: RevisionNumber, if_none_match: IfNoneMatch = None
) -> Response:
    """One revision of the vehicle."""
    return DOOR.read(request, (vehicle_id,), if_none_match, revision)
