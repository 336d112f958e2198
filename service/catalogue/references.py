"""From names in a request to engine values, out of memory for as long as the catalogue's counter stands still.

A revision never changes, so what was made of it once can be kept for as long as there is room. Which revisions hold is
kept for one state of the catalogue.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Protocol

import orjson
from sqlalchemy import Connection, Select, bindparam, select

from service.catalogue.engine_values import engine_part, engine_value
from service.catalogue.revisions import ACTIVE, AXLES, PARTS, VEHICLES, at_revision
from service.catalogue.state import CatalogueState
from service.database import Database
from service.engine import POLICIES, Axle, compile_axle
from service.engine.assembling import Unladen
from service.engine.envelope import AxleEnvelope, Duty, End, VehicleMasses
from service.engine.parts import Part

KEPT_PARTS, KEPT_AXLES = 8192, 512
MOST_HEADS = 65_536
"""Names looked up at one state of the catalogue; beyond that the memory of them begins anew."""
MOST_IN_A_QUERY = 500
MOST_PUT_TOGETHER = 256
"""Sets of parts on an axle, with what was found of them 130 kilobytes each; beyond that the memory of them begins anew.
"""
KIT = "kit"


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
    """One revision of a part; ``fits`` names the vehicles or axles that it is sold for, empty for any.

    A kit is no part itself: its ``contents`` are SKUs with how many of each.
    """

    part: Part | None
    name: str
    fits: frozenset[str]
    contents: tuple[tuple[str, int], ...] = ()

    @property
    def kind(self) -> str:
        return KIT if self.part is None else self.part.kind

    def suits(self, vehicle: str, end: str) -> bool:
        return not self.fits or vehicle in self.fits or f"{vehicle}/{end}" in self.fits


@dataclass(frozen=True, slots=True)
class PartsOnAxle:
    """Parts put on an axle of the catalogue, and the heads of all that a question about them names."""

    unladen: Unladen
    axle_head: AxleHead | None
    part_heads: dict[str, PartHead]


AxleName = tuple[str, End]
PartsOnAxleName = tuple[AxleName, str, Duty, tuple[tuple[str | bytes, int], ...], tuple[str, ...]]
"""Axle, policy and duty; SKUs, or the canonical JSON of parts that came with a request, in its order, with how many of
each; and the SKUs of what is on board.
"""
FindPart = Callable[[str, int], CataloguedPart]
FindAxle = Callable[[str, End, int, int, str], Axle]
Heads = tuple[AxleHead | None, dict[str, PartHead]]


class Lookup(Protocol):
    """Where an evaluation finds what it names."""

    @property
    def part(self) -> FindPart: ...

    @property
    def axle(self) -> FindAxle: ...

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        """What holds of one axle and of some parts; what the catalogue does not know is left out."""


class References:
    """The catalogue as evaluations need it."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._state = CatalogueState(database)
        self._standing: Standing | None = None
        self.part: FindPart = lru_cache(KEPT_PARTS)(self._read_part)
        self.axle: FindAxle = lru_cache(KEPT_AXLES)(self._compile)

    def standing(self) -> Standing:
        """The catalogue as it stands now."""
        changes, standing = self._state.changes(), self._standing
        if standing is None or standing.changes != changes:
            standing = self._standing = Standing(self, self._database, changes)
        return standing

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        return self.standing().heads(axle, skus)

    def close(self) -> None:
        self._state.close()

    def _read_part(self, sku: str, revision: int) -> CataloguedPart:
        with self._database.reading() as connection:
            body = at_revision(connection, PARTS, (sku,), revision).body
        return catalogued_part(body)

    def _compile(self, vehicle: str, end: End, vehicle_revision: int, axle_revision: int, policy: str) -> Axle:
        with self._database.reading() as connection:
            owner = at_revision(connection, VEHICLES, (vehicle,), vehicle_revision).body
            envelope = at_revision(connection, AXLES, (vehicle, end), axle_revision).body
        return compiled(envelope, owner["vehicle_masses"], end, policy)


class Standing:
    """Which revisions hold at one state of the catalogue: read when first asked for, then kept.

    The counter was read before any of it, so nothing here is older than that state. Whoever still fills it after the
    catalogue has moved on does no harm: the next question gets another one.
    """

    def __init__(self, references: References, database: Database, changes: int) -> None:
        self.changes = changes
        self.part, self.axle = references.part, references.axle
        self._database = database
        self._axles: dict[AxleName, AxleHead | None] = {}
        self._parts: dict[str, PartHead | None] = {}
        self._put_together: dict[PartsOnAxleName, PartsOnAxle] = {}

    def parts_on_axle(self, name: PartsOnAxleName) -> PartsOnAxle | None:
        """Parts that have been put on an axle at this state of the catalogue already, be it for another load."""
        return self._put_together.get(name)

    def keep_parts_on_axle(self, name: PartsOnAxleName, parts: PartsOnAxle) -> None:
        """Keep them, and what will be found of them, for other loads. Not where they make a linkage of their own: an
        axle keeps but a few of those.
        """
        outfit = parts.unladen.outfit
        if outfit is None or outfit.axle.base is not None:
            return
        if len(self._put_together) >= MOST_PUT_TOGETHER:
            self._put_together = {}
        self._put_together[name] = PartsOnAxle(parts.unladen.lasting(), parts.axle_head, parts.part_heads)

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        axles, parts = self._axles, self._parts  # others may fill them meanwhile, and nobody takes anything out
        unread_axle = axle is not None and axle not in axles
        known = {sku: parts[sku] for sku in skus if sku in parts}
        unread = sorted({sku for sku in skus if sku not in known})
        if unread_axle or unread:
            head, read = self._read(axle, unread)
            known |= read
        else:
            head = None if axle is None else axles[axle]
        return head, {sku: part for sku, part in known.items() if part is not None}

    def knows(self, axle: AxleName | None, skus: Collection[str]) -> bool:
        """Whether all of it has been read already."""
        axles, parts = self._axles, self._parts
        return (axle is None or axle in axles) and all(sku in parts for sku in skus)

    def _read(self, axle: AxleName | None, skus: list[str]) -> tuple[AxleHead | None, dict[str, PartHead | None]]:
        read: dict[str, PartHead | None] = dict.fromkeys(skus)
        with self._database.reading() as connection:
            head = axle and axle_head(connection, *axle)
            for first in range(0, len(skus), MOST_IN_A_QUERY):
                read.update(_part_heads(connection, skus[first : first + MOST_IN_A_QUERY]))
        self._keep(axle, head, read)
        return head, read

    def _keep(self, axle: AxleName | None, head: AxleHead | None, parts: dict[str, PartHead | None]) -> None:
        if len(self._axles) + len(self._parts) > MOST_HEADS:
            self._axles, self._parts = {}, {}
        if axle is not None:
            self._axles[axle] = head
        self._parts.update(parts)


def catalogued_part(body: dict[str, Any]) -> CataloguedPart:
    """A part or a kit from its body in the catalogue."""
    name, fits = body["name"], frozenset(body["fits"])
    if body["kind"] != KIT:
        return CataloguedPart(engine_part(body), name, fits)
    return CataloguedPart(None, name, fits, tuple((entry["sku"], entry["quantity"]) for entry in body["parts"]))


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


def _axle_query() -> Select[Any]:
    vehicles, axles = VEHICLES.heads, AXLES.heads
    on_vehicle = (axles.c.vehicle_id == vehicles.c.vehicle_id) & (axles.c.end == bindparam("end"))
    return (
        select(vehicles.c.revision, vehicles.c.status, axles.c.revision)
        .join_from(vehicles, axles, on_vehicle, isouter=True)
        .where(vehicles.c.vehicle_id == bindparam("vehicle"))
    )


def _parts_query() -> Select[Any]:
    heads = PARTS.heads
    wanted = heads.c.sku.in_(bindparam("skus", expanding=True))
    return select(heads.c.sku, heads.c.revision, heads.c.status).where(wanted)


AXLE_QUERY, PARTS_QUERY = _axle_query(), _parts_query()


def axle_head(connection: Connection, vehicle: str, end: str) -> AxleHead | None:
    """What holds of an axle; nothing where the catalogue has no such vehicle."""
    row = connection.execute(AXLE_QUERY, {"vehicle": vehicle, "end": end}).first()
    return None if row is None else AxleHead(row[0], row[1] == ACTIVE, row[2])


def _part_heads(connection: Connection, skus: list[str]) -> dict[str, PartHead]:
    rows = connection.execute(PARTS_QUERY, {"skus": skus})
    return {sku: PartHead(revision, status == ACTIVE) for sku, revision, status in rows}
