"""Listings page by page.

Each page begins after the last name of the one before, so that what is added meanwhile neither repeats nor hides a row.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, or_, select

from service.catalogue.revisions import PARTS, Key, Shelf, Stored, UnknownError, history_rows, joined_rows, stored_of


@dataclass(frozen=True, slots=True)
class Page:
    """``more``: whether anything follows the last item."""

    items: tuple[Stored, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class PartFilter:
    """What a part must be; ``None`` leaves it open. ``words``: somewhere in its SKU or name, in any case."""

    kind: str | None = None
    supplier: str | None = None
    words: str | None = None


def things(connection: Connection, shelf: Shelf, status: str | None, after: str | None, limit: int) -> Page:
    """A page of vehicles or parts by their name; ``status`` None lists the withdrawn ones too."""
    return _page(connection, shelf, _narrowed(shelf, status), after, limit)


def parts(connection: Connection, wanted: PartFilter, status: str | None, after: str | None, limit: int) -> Page:
    """A page of parts by SKU."""
    heads = PARTS.heads
    rows = _narrowed(PARTS, status)
    if wanted.kind is not None:
        rows = rows.where(heads.c.kind == wanted.kind)
    if wanted.supplier is not None:
        rows = rows.where(heads.c.supplier == wanted.supplier)
    if wanted.words is not None:
        rows = rows.where(
            or_(*(heads.c[column].icontains(wanted.words, autoescape=True) for column in ("sku", "name")))
        )
    return _page(connection, PARTS, rows, after, limit)


def history(connection: Connection, shelf: Shelf, key: Key, before: int | None, limit: int) -> Page:
    """A page of one thing's revisions, newest first. Raises ``UnknownError``."""
    number = shelf.revisions.c.revision
    rows = history_rows(shelf, key).order_by(number.desc())
    if before is not None:
        rows = rows.where(number < before)
    page = _cut(connection, shelf, rows, limit)
    if not page.items and before is None:
        raise UnknownError(f"There is no {shelf.what} {'/'.join(key)}.")
    return page


def unknown_suppliers(connection: Connection, suppliers: Collection[str]) -> set[str]:
    """Those by whom the catalogue has no part at all."""
    column = PARTS.heads.c.supplier
    return set(suppliers) - set(connection.execute(select(column).where(column.in_(suppliers)).distinct()).scalars())


def _narrowed(shelf: Shelf, status: str | None) -> Select[Any]:
    rows = joined_rows(shelf)
    return rows if status is None else rows.where(shelf.heads.c.status == status)


def _page(connection: Connection, shelf: Shelf, rows: Select[Any], after: str | None, limit: int) -> Page:
    name = shelf.heads.c[shelf.key[-1]]
    rows = rows.order_by(name)
    return _cut(connection, shelf, rows if after is None else rows.where(name > after), limit)


def _cut(connection: Connection, shelf: Shelf, rows: Select[Any], limit: int) -> Page:
    found = connection.execute(rows.limit(limit + 1)).all()
    return Page(tuple(stored_of(row, shelf) for row in found[:limit]), len(found) > limit)
