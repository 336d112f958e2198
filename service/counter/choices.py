"""What there is to choose from: vehicles and parts of the catalogue, by a few letters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from service.catalogue import listing
from service.catalogue.references import KIT
from service.catalogue.revisions import ACTIVE, PARTS, VEHICLES, Shelf, UnknownError, current
from service.counter.language.reader import Reader
from service.engine.parts import PART_KINDS

LEAST_OF_A_KIND = 4
"""Letters from which on a word may be one for a kind of part: fewer stand in nearly all of them."""
AT_ONCE, MOST_READ, MOST_SHOWN = 200, 4000, 60
"""A list longer than this helps nobody; who types another letter gets another one."""


@dataclass(frozen=True, slots=True)
class Choice:
    value: str
    label: str


def vehicle_named(connection: Connection, vehicle_id: str) -> Choice | None:
    """The vehicle of an id, unless it is withdrawn."""
    try:
        stored = current(connection, VEHICLES, (vehicle_id,))
    except UnknownError:
        return None
    return Choice(vehicle_id, stored.body["name"]) if stored.status == ACTIVE else None


def vehicles_like(connection: Connection, words: str) -> list[Choice]:
    """Vehicles in whose id or name all of the words stand, of all there are: one of two must not pass for the one."""
    found: list[Choice] = []
    for body in _bodies(connection, VEHICLES, None, most=None):
        if _has_all(words, body["vehicle_id"], body["name"], body.get("maker", "")):
            found.append(Choice(body["vehicle_id"], body["name"]))
        if len(found) == MOST_SHOWN:
            break
    return found


def parts_like(connection: Connection, axle: tuple[str, str], words: str, reader: Reader) -> list[Choice]:
    """Parts sold for an axle in whose SKU, name, kind or supplier all of the words stand; kinds in either language."""
    found: list[Choice] = []
    longest = max(words.split(), key=len, default=None)
    by_kind = longest is not None and _may_be_of_a_kind(longest.casefold(), reader)
    for body in _bodies(connection, PARTS, None if by_kind else longest):
        fits, kind = body["fits"], reader.kind(body["kind"])
        if (not fits or axle[0] in fits or "/".join(axle) in fits) and _has_all(
            words, body["sku"], body["name"], body["kind"].replace("_", " "), kind, body["supplier"]
        ):
            found.append(Choice(body["sku"], f"{body['name']} ({kind})"))
        if len(found) == MOST_SHOWN:
            break
    return found


def _may_be_of_a_kind(word: str, reader: Reader) -> bool:
    """Whether the database, which knows SKUs and names alone, may not look for the word."""
    if any(word in kind for kind in ("spring", "strut", "spacer", "stop", "kit")):
        return True
    return (
        reader.language != "en"
        and len(word) >= LEAST_OF_A_KIND
        and any(word in reader.kind(kind).casefold() for kind in (*PART_KINDS, KIT))
    )


def _bodies(
    connection: Connection, shelf: Shelf, word: str | None, most: int | None = MOST_READ
) -> Iterator[dict[str, Any]]:
    """Active things in the order of their names, page by page; of parts, those with a word in SKU or name first."""
    after, read = None, 0
    while most is None or read < most:
        if shelf is PARTS:
            page = listing.parts(connection, listing.PartFilter(words=word), ACTIVE, after, AT_ONCE)
        else:
            page = listing.things(connection, shelf, ACTIVE, after, AT_ONCE)
        yield from (item.body for item in page.items)
        if not page.more:
            return
        after, read = page.items[-1].key[-1], read + AT_ONCE


def _has_all(words: str, *texts: str) -> bool:
    where = " ".join(texts).casefold()
    return all(word in where for word in words.casefold().split())
