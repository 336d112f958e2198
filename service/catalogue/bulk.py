"""Putting many things of one shelf in force in one transaction, and reading a whole shelf."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, bindparam, insert, select, tuple_, update

from service.catalogue.revisions import (
    ACTIVE,
    AXLES,
    PARTS,
    VEHICLES,
    Key,
    Shelf,
    Stored,
    index_fits,
    joined_rows,
    stored_of,
)
from service.database import canonical, utc_now

AT_ONCE = 500
"""Things for one statement: well below the number of parameters that either database takes."""

Told = Callable[[int], None]
"""Is told how many more things have been put in force."""


@dataclass(frozen=True, slots=True)
class Offered:
    """A checked body to put in force. ``searched``: further columns of its head."""

    key: Key
    body: dict[str, Any]
    searched: Mapping[str, str] = field(default_factory=dict)

    def text(self) -> str:
        return canonical(self.body).decode()

    def head(self, shelf: Shelf, revision: int) -> dict[str, Any]:
        status = self.body.get("status", ACTIVE)
        return {**shelf.columns(self.key), "revision": revision, "status": status, **self.searched}


@dataclass(frozen=True, slots=True)
class Tally:
    """What became of the things that were offered; an ``unchanged`` one gets no new revision."""

    created: int = 0
    revised: int = 0
    unchanged: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.created + other.created, self.revised + other.revised, self.unchanged + other.unchanged)


def shut_out_others(connection: Connection) -> None:
    """Let nobody else change the catalogue until this transaction ends; reading goes on.

    On an embedded database every writing transaction does so. On a server all shelves are taken first of all, and so
    that nobody can even hold a row to change it: no two writers then wait for what the other has.
    """
    if connection.dialect.name == "postgresql":
        tables = ", ".join(shelf.heads.name for shelf in (VEHICLES, AXLES, PARTS))
        connection.exec_driver_sql(f"LOCK TABLE {tables} IN EXCLUSIVE MODE")


def put_all(connection: Connection, shelf: Shelf, offered: Sequence[Offered], tell: Told = lambda _: None) -> Tally:
    """Put every body in force, whatever held before. Keys must differ, and others must be shut out."""
    tally = Tally()
    for start in range(0, len(offered), AT_ONCE):
        some = offered[start : start + AT_ONCE]
        tally += _put_some(connection, shelf, some)
        tell(len(some))
    return tally


def whole_shelf(connection: Connection, shelf: Shelf, **wanted: str | None) -> list[Stored]:
    """Every thing as it is now, withdrawn ones too, by its name in the order of Unicode on either database.

    ``wanted``: what columns of its head must be; ``None`` leaves one open.
    """
    rows = joined_rows(shelf)
    for column, value in wanted.items():
        rows = rows if value is None else rows.where(shelf.heads.c[column] == value)
    return sorted((stored_of(row, shelf) for row in connection.execute(rows)), key=lambda stored: stored.key)


def _put_some(connection: Connection, shelf: Shelf, some: Sequence[Offered]) -> Tally:
    numbers, texts = _in_force(connection, shelf, [each.key for each in some])
    new = [each for each in some if each.key not in numbers]
    changed = [each for each in some if each.key in numbers and texts[each.key] != each.text()]
    now = utc_now()
    if new:
        connection.execute(insert(shelf.heads), [{**each.head(shelf, 1), "created_at": now} for each in new])
    _move_heads(connection, shelf, [each.head(shelf, numbers[each.key] + 1) for each in changed])
    rows = [
        {
            **shelf.columns(each.key),
            "revision": numbers.get(each.key, 0) + 1,
            "revised_at": now,
            "body": each.text(),
        }
        for each in (*new, *changed)
    ]
    if rows:
        connection.execute(insert(shelf.revisions), rows)
    if shelf is PARTS and rows:
        index_fits(connection, {each.key[0]: each.body for each in (*new, *changed)})
    return Tally(len(new), len(changed), len(some) - len(new) - len(changed))


def _in_force(connection: Connection, shelf: Shelf, keys: list[Key]) -> tuple[dict[Key, int], dict[Key, str]]:
    """Revision and text of those that exist."""
    heads, revisions = shelf.heads, shelf.revisions
    names = [heads.c[column] for column in shelf.key]
    same = and_(*(heads.c[column] == revisions.c[column] for column in (*shelf.key, "revision")))
    rows = select(*names, heads.c.revision, revisions.c.body).join_from(heads, revisions, same)
    found = connection.execute(rows.where(_among(shelf, keys))).all()
    return {tuple(row[:-2]): row[-2] for row in found}, {tuple(row[:-2]): row[-1] for row in found}


def _among(shelf: Shelf, keys: list[Key]) -> ColumnElement[bool]:
    if len(shelf.key) == 1:
        return shelf.heads.c[shelf.key[0]].in_([name for (name,) in keys])
    return tuple_(*(shelf.heads.c[column] for column in shelf.key)).in_(keys)


def _move_heads(connection: Connection, shelf: Shelf, heads: list[dict[str, Any]]) -> None:
    if not heads:
        return
    moved = update(shelf.heads).where(*(shelf.heads.c[column] == bindparam(f"of_{column}") for column in shelf.key))
    values: dict[str, Any] = {column: bindparam(column) for column in heads[0] if column not in shelf.key}
    rows = [{f"of_{name}" if name in shelf.key else name: value for name, value in head.items()} for head in heads]
    connection.execute(moved.values(values), rows)
