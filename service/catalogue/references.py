"""From names in a request to engine values: one query says which revisions hold now, the rest is kept in memory.

A revision never changes, so what was made of it once can be kept for as long as there is room.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import orjson
from sqlalchemy import Connection, select

from service.catalogue.engine_values import engine_part, engine_value
from service.catalogue.revisions import ACTIVE, AXLES, PARTS, VEHICLES, at_revision
from service.database import Database
from service.engine import POLICIES, Axle, compile_axle
from service.engine.envelope import AxleEnvelope, End, VehicleMasses
from service.engine.parts import Part

KEPT_PARTS, KEPT_AXLES = 8192, 512


@dataclass(frozen=True, slots=True)
class AxleHead:
    """Which revisions of a vehicle and its axle hold now; ``axle`` None where nobody has measured that end."""

    vehicle_revision: int
    active: bool
    axle_revision: int | None


@dataclass(frozen=True, slots=True)
class PartHead:
    revision: int
    active: bool


@dataclass(frozen=True, slots=True)
class CataloguedPart:
    """One revision of a part; ``fits`` names the vehicles or axles that it is sold for, empty for any."""

    part: Part
    name: str
    fits: frozenset[str]

    def suits(self, vehicle: str, end: str) -> bool:
        return not self.fits or vehicle in self.fits or f"{vehicle}/{end}" in self.fits


class References:
    """The catalogue as an evaluation needs it."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self.part = lru_cache(KEPT_PARTS)(self._read_part)
        self.axle = lru_cache(KEPT_AXLES)(self._compile)

    def heads(self, axle: tuple[str, str] | None, skus: Iterable[str]) -> tuple[AxleHead | None, dict[str, PartHead]]:
        """What holds now of one axle and of some parts; what the catalogue does not know is left out."""
        wanted = sorted(set(skus))
        if axle is None and not wanted:
            return None, {}
        with self._database.reading() as connection:
            return axle and _axle_head(connection, *axle), _part_heads(connection, wanted)

    def _read_part(self, sku: str, revision: int) -> CataloguedPart:
        with self._database.reading() as connection:
            body = at_revision(connection, PARTS, (sku,), revision).body
        return CataloguedPart(engine_part(body), body["name"], frozenset(body["fits"]))

    def _compile(self, vehicle: str, end: End, vehicle_revision: int, axle_revision: int, policy: str) -> Axle:
        with self._database.reading() as connection:
            owner = at_revision(connection, VEHICLES, (vehicle,), vehicle_revision).body
            envelope = at_revision(connection, AXLES, (vehicle, end), axle_revision).body
        return compiled(envelope, owner["vehicle_masses"], end, policy)


def compiled(envelope: dict[str, Any], masses: dict[str, Any] | None, end: End, policy: str) -> Axle:
    """An axle ready for evaluations. Raises ``RefusedError`` where its readings cannot be true."""
    return compile_axle(
        engine_value(AxleEnvelope, envelope),
        None if masses is None else engine_value(VehicleMasses, masses),
        end,
        POLICIES[policy],
    )


@lru_cache(KEPT_AXLES)
def inline_axle(text: bytes, end: End, policy: str) -> Axle:
    """The axle of canonical JSON that came with a request: the same one often comes again with other parts."""
    body = orjson.loads(text)
    return compiled(body["inline"], body.get("vehicle_masses"), end, policy)


def _axle_head(connection: Connection, vehicle: str, end: str) -> AxleHead | None:
    vehicles, axles = VEHICLES.heads, AXLES.heads
    on_vehicle = (axles.c.vehicle_id == vehicles.c.vehicle_id) & (axles.c.end == end)
    row = connection.execute(
        select(vehicles.c.revision, vehicles.c.status, axles.c.revision)
        .join_from(vehicles, axles, on_vehicle, isouter=True)
        .where(vehicles.c.vehicle_id == vehicle)
    ).first()
    return None if row is None else AxleHead(row[0], row[1] == ACTIVE, row[2])


def _part_heads(connection: Connection, skus: list[str]) -> dict[str, PartHead]:
    if not skus:
        return {}
    heads = PARTS.heads
    rows = connection.execute(select(heads.c.sku, heads.c.revision, heads.c.status).where(heads.c.sku.in_(skus)))
    return {sku: PartHead(revision, status == ACTIVE) for sku, revision, status in rows}
