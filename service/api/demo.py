"""The demo catalogue: data files in the form of the API's own bodies, loaded through the same checks."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import orjson
from pydantic import TypeAdapter
from sqlalchemy import Connection

from service.api.named import body_named
from service.api.schemas.axle import AxleEnvelope
from service.api.schemas.catalogued_parts import SEARCHED, CataloguedPart
from service.api.schemas.vehicle import Vehicle
from service.catalogue import listing
from service.catalogue.checking import check_axle, check_catalogued_part, check_kit, check_vehicle
from service.catalogue.revisions import AXLES, PARTS, VEHICLES, create
from service.database import Database

PART = TypeAdapter[Any](CataloguedPart)


def load_demo(database: Database) -> bool:
    """Fill an empty catalogue with the demo's vehicles, axles and parts; a catalogue with anything in it is left."""
    with database.writing() as connection:
        if not _is_empty(connection):
            return False
        for vehicle in demo_bodies("vehicles"):
            name, body = body_named("vehicle_id", Vehicle.model_validate(vehicle))
            check_vehicle(connection, name, body["vehicle_masses"])
            create(connection, VEHICLES, (name,), body, {})
        for axle in demo_bodies("axles"):
            key = (axle["vehicle"], axle["end"])
            envelope = AxleEnvelope.model_validate(axle["envelope"]).model_dump(exclude_none=True)
            check_axle(connection, key, envelope)
            create(connection, AXLES, key, envelope, {})
        for part in demo_bodies("parts"):
            sku, body = body_named("sku", PART.validate_python(part))
            check_catalogued_part(body)
            check_kit(connection, (sku,), body)
            create(connection, PARTS, (sku,), body, {name: body[name] for name in SEARCHED})
    return True


def demo_bodies(what: str) -> list[dict[str, Any]]:
    """The demo's bodies of one sort, as they are in its file."""
    bodies: list[dict[str, Any]] = orjson.loads((files("service.catalogue") / "demo" / f"{what}.json").read_bytes())
    return bodies


def _is_empty(connection: Connection) -> bool:
    return not any(listing.things(connection, shelf, None, None, 1).items for shelf in (VEHICLES, PARTS))
