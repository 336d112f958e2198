"""What there is to choose from: vehicles and parts of the catalogue, by a few letters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from service.catalogue import listing
from service.catalogue.revisions import ACTIVE, PARTS, VEHICLES, Shelf

AT_ONCE, MOST_READ, MOST_SHOWN = 200, 4000, 60
"""A list longer than this helps nobody; who types another letter gets another one."""


@dataclass(frozen=True, slots=True)
class Choice:
    value: str
    label: str


def vehicles_like(connection: Connection, words: str) -> list[Choice]:
    """Vehicles in whose id or name all of the words stand."""
    found: list[Choice] = []
    for body in _bodies(connection, VEHICLES, None):
        if _has_all(words, body["vehicle_id"], body["name"], body.get("maker", "")):
            found.append(Choice(body["vehicle_id"], body["name"]))
        if len(found) == MOST_SHOWN:
            break
    return found


def parts_like(connection: Connection, vehicle: str, end: str, words: str) -> list[Choice]:
    """Parts sold for an axle in whose SKU, name, kind or supplier all of the words stand."""
    found: list[Choice] = []
    longest = max(words.split(), key=len, default=None)
    kinds = longest is not None and any(longest in kind for kind in ("spring", "strut", "spacer", "stop", "kit"))
    for body in _bodies(connection, PARTS, None if kinds else longest):
        fits = body["fits"]
        kind = body["kind"].replace("_", " ")
        if (not fits or vehicle in fits or f"{vehicle}/{end}" in fits) and _has_all(
            words, body["sku"], body["name"], kind, body["supplier"]
        ):
            found.append(Choice(body["sku"], f"{body['name']} ({kind})"))
        if len(found) == MOST_SHOWN:
            break
    return found


def _bodies(connection: Connection, shelf: Shelf, word: str | None) -> Iterator[dict[str, Any]]:
    """Active things in the order of their names, page by page; of parts, those with a word in SKU or name first."""
    after, read = None, 0
    while read < MOST_READ:
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
