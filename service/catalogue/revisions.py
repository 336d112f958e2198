"""Heads and revisions: creating, revising and withdrawing a thing of the catalogue, and reading what it was and is.

Nothing here knows what a body means; it is checked before it comes here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import ColumnElement, Connection, Row, Select, Table, and_, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from service.catalogue.tables import Axle, AxleRevision, Part, PartFits, PartRevision, Vehicle, VehicleRevision
from service.database import canonical, table_of, utc_now
from service.engine.words import with_article

ACTIVE, WITHDRAWN = "active", "withdrawn"


class UnknownError(LookupError):
    """The catalogue has no such thing; the message says which."""


class AlreadyThereError(Exception):
    """The name is taken; the message says which."""


class WithdrawnError(Exception):
    """The thing has been withdrawn, so nothing can be added to it; the message says which."""


class StaleRevisionError(Exception):
    """The thing has been changed since the caller read it. ``current`` is its revision now, none if it is not there."""

    def __init__(self, current: int | None) -> None:
        super().__init__(
            "It is not there yet: leave the header If-Match out to put it there."
            if current is None
            else f"It is at revision {current} now: read it again, then repeat the change."
        )
        self.current = current


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where one sort of thing is kept: heads, revisions, and the columns that name one thing."""

    what: str
    heads: Table
    revisions: Table
    key: tuple[str, ...]

    def names(self, table: Table, key: Key) -> ColumnElement[bool]:
        return and_(*(table.c[column] == value for column, value in zip(self.key, key, strict=True)))

    def columns(self, key: Key) -> dict[str, str]:
        return dict(zip(self.key, key, strict=True))


Key = tuple[str, ...]
VEHICLES = Shelf("vehicle", table_of(Vehicle), table_of(VehicleRevision), ("vehicle_id",))
AXLES = Shelf("axle", table_of(Axle), table_of(AxleRevision), ("vehicle_id", "end"))
PARTS = Shelf("part", table_of(Part), table_of(PartRevision), ("sku",))
FITS = table_of(PartFits)
ANY = ""
"""The name that stands for any axle."""


@dataclass(frozen=True, slots=True)
class Stored:
    """One revision of a thing. ``created_at`` is when the thing was first catalogued, ``revised_at`` this revision."""

    key: Key
    revision: int
    status: str
    created_at: str
    revised_at: str
    body: dict[str, Any]


def exists(connection: Connection, shelf: Shelf, key: Key) -> bool:
    return connection.execute(select(shelf.heads.c.revision).where(shelf.names(shelf.heads, key))).first() is not None


def hold(connection: Connection, shelf: Shelf, key: Key) -> None:
    """Let nobody else change the thing until the transaction ends. What is read after this stays true that long."""
    connection.execute(select(shelf.heads.c.revision).where(shelf.names(shelf.heads, key)).with_for_update())


def current(connection: Connection, shelf: Shelf, key: Key) -> Stored:
    """The thing as it is now. Raises ``UnknownError``."""
    rows = _joined(shelf).where(shelf.names(shelf.heads, key), shelf.heads.c.revision == shelf.revisions.c.revision)
    return _one(connection, rows, shelf, key)


def at_revision(connection: Connection, shelf: Shelf, key: Key, revision: int) -> Stored:
    """The thing as it was. Raises ``UnknownError``."""
    rows = _joined(shelf).where(shelf.names(shelf.heads, key), shelf.revisions.c.revision == revision)
    return _one(connection, rows, shelf, (*key, f"revision {revision}"))


def create(connection: Connection, shelf: Shelf, key: Key, body: dict[str, Any], searched: Mapping[str, str]) -> Stored:
    """Catalogue a new thing. Raises ``AlreadyThereError``. ``searched``: further columns of its head."""
    stored = Stored(key, 1, body.get("status", ACTIVE), now := utc_now(), now, body)
    head = {"revision": 1, "status": stored.status, "created_at": now, **searched}
    try:
        connection.execute(insert(shelf.heads).values(**shelf.columns(key), **head))
    except IntegrityError:
        raise AlreadyThereError(f"There is {with_article(shelf.what)} {'/'.join(key)} already.") from None
    _add_revision(connection, shelf, stored)
    return stored


def revise(
    connection: Connection, shelf: Shelf, before: Stored, body: dict[str, Any], searched: Mapping[str, str]
) -> Stored:
    """Put a new body in force on top of ``before``. Raises ``StaleRevisionError`` if another was quicker."""
    after = Stored(before.key, before.revision + 1, body.get("status", ACTIVE), before.created_at, utc_now(), body)
    changed = connection.execute(
        update(shelf.heads)
        .where(shelf.names(shelf.heads, before.key), shelf.heads.c.revision == before.revision)
        .values(revision=after.revision, status=after.status, **searched)
    )
    if changed.rowcount != 1:
        raise StaleRevisionError(current(connection, shelf, before.key).revision)
    _add_revision(connection, shelf, after)
    return after


def withdraw(connection: Connection, shelf: Shelf, before: Stored) -> Stored:
    """Take a thing off the shelf: it stays readable, and no new evaluation may use it."""
    if before.status == WITHDRAWN:
        return before
    return revise(connection, shelf, before, {**before.body, "status": WITHDRAWN}, {})


def index_fits(connection: Connection, bodies: Mapping[str, dict[str, Any]]) -> None:
    """Keep which axles some parts are sold for, by their bodies in force now."""
    connection.execute(delete(FITS).where(FITS.c.sku.in_(list(bodies))))
    rows = [{"sku": sku, "axle_name": name} for sku, body in bodies.items() for name in set(body.get("fits") or [ANY])]
    if rows:
        connection.execute(insert(FITS), rows)


def _add_revision(connection: Connection, shelf: Shelf, stored: Stored) -> None:
    if shelf is PARTS:
        index_fits(connection, {stored.key[0]: stored.body})
    connection.execute(
        insert(shelf.revisions).values(
            **shelf.columns(stored.key),
            revision=stored.revision,
            revised_at=stored.revised_at,
            body=canonical(stored.body).decode(),
        )
    )


def _joined(shelf: Shelf) -> Select[Any]:
    together = and_(*(shelf.heads.c[column] == shelf.revisions.c[column] for column in shelf.key))
    return select(
        *(shelf.revisions.c[column] for column in shelf.key),
        shelf.revisions.c.revision,
        shelf.heads.c.created_at,
        shelf.revisions.c.revised_at,
        shelf.revisions.c.body,
    ).join_from(shelf.heads, shelf.revisions, together)


def _one(connection: Connection, rows: Select[Any], shelf: Shelf, key: Key) -> Stored:
    row = connection.execute(rows).first()
    if row is None:
        raise UnknownError(f"There is no {shelf.what} {'/'.join(key)}.")
    return stored_of(row, shelf)


def stored_of(row: Row[Any], shelf: Shelf) -> Stored:
    key, (revision, created_at, revised_at, text) = tuple(row[: len(shelf.key)]), row[len(shelf.key) :]
    body = orjson.loads(text)
    return Stored(key, revision, body.get("status", ACTIVE), created_at, revised_at, body)


def joined_rows(shelf: Shelf) -> Select[Any]:
    """Every thing as it is now, for a listing to narrow down."""
    return _joined(shelf).where(shelf.heads.c.revision == shelf.revisions.c.revision)


def history_rows(shelf: Shelf, key: Key) -> Select[Any]:
    """Every revision of one thing."""
    return _joined(shelf).where(shelf.names(shelf.heads, key))
