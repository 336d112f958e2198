"""Keeping searches, and telling those whose process has died from those that are under way."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

import orjson
from sqlalchemy import Connection, bindparam, delete, insert, select, update

from service.database import canonical, table_of, utc_now
from service.searches.tables import Search

SEARCHES = table_of(Search)
HOURS_KEPT = 24
STALE_S = 30
"""Longer than this no process leaves a search of its own without a sign of life (see ``judging/search_queue``)."""
QUICKLY = 1
"""Level of zlib: a thousand combinations, half a megabyte of sentences much alike, take a twentieth of it."""
RUNNING, DONE, FAILED = "running", "done", "failed"

Status = Literal["running", "done", "failed"]
Failure = Literal["interrupted", "fault"]
Progress = tuple[int, int]
"""How many combinations have been looked at, and of how many."""


class UnknownSearchError(LookupError):
    """There is no such search, or there is none any more."""


class SearchInterruptedError(Exception):
    """A search whose process has ended before it was done."""

    def __init__(self) -> None:
        super().__init__("The process that was searching has ended before it was done: ask again.")


@dataclass(frozen=True, slots=True)
class KeptSearch:
    """A search as it is now. ``found`` is there when it is done, ``failure`` when it has failed."""

    search_id: str
    status: Status
    progress: Progress
    asked_at: str
    expires_at: str
    request: dict[str, Any]
    catalogue: dict[str, Any]
    found: dict[str, Any] | None
    failure: Failure | None


def begin(
    connection: Connection, search_id: str, total: int, request: Mapping[str, Any], catalogue: Mapping[str, Any]
) -> None:
    """Keep a search that is about to begin, and remove those whose day is over."""
    now = utc_now()
    connection.execute(delete(SEARCHES).where(SEARCHES.c.expires_at <= now))
    row = {
        "search_id": search_id,
        "status": RUNNING,
        "asked_at": now,
        "expires_at": _spelt(datetime.now(UTC) + timedelta(hours=HOURS_KEPT)),
        "heartbeat": now,
        "done": 0,
        "total": total,
        "request": canonical(request).decode(),
        "catalogue": canonical(catalogue).decode(),
    }
    connection.execute(insert(SEARCHES).values(**row))


def beat(connection: Connection, under_way: Mapping[str, Progress]) -> None:
    """A sign of life of searches that are under way here."""
    statement = (
        update(SEARCHES)
        .where(SEARCHES.c.search_id == bindparam("of_search"), SEARCHES.c.status == RUNNING)
        .values(heartbeat=utc_now(), done=bindparam("looked_at"), total=bindparam("of_all"))
    )
    rows = [{"of_search": name, "looked_at": done, "of_all": total} for name, (done, total) in under_way.items()]
    connection.execute(statement, rows)


def end(connection: Connection, search_id: str, progress: Progress, found: Mapping[str, Any]) -> None:
    """What a search has found."""
    row = {
        "status": DONE,
        "done": progress[0],
        "total": progress[1],
        "found": zlib.compress(orjson.dumps(found), QUICKLY),
    }
    connection.execute(update(SEARCHES).where(SEARCHES.c.search_id == search_id).values(**row))


def fail(connection: Connection, search_id: str, failure: Failure) -> None:
    row = {"status": FAILED, "failure": failure}
    connection.execute(update(SEARCHES).where(SEARCHES.c.search_id == search_id).values(**row))


def find(connection: Connection, search_id: str, here: Progress | None = None) -> KeptSearch:
    """A search as it is now. Raises ``UnknownSearchError``.

    ``here``: how far it is, where it is under way in this very process. Else one that gives no sign of life has failed.
    """
    row = connection.execute(select(SEARCHES).where(SEARCHES.c.search_id == search_id)).first()
    if row is None or row.expires_at <= utc_now():
        raise UnknownSearchError(f"There is no search {search_id}. Searches are kept for {HOURS_KEPT} hours.")
    status, failure = row.status, row.failure
    if status == RUNNING and here is None and row.heartbeat < _spelt(datetime.now(UTC) - timedelta(seconds=STALE_S)):
        status, failure = FAILED, "interrupted"
    progress = here if status == RUNNING and here is not None else (row.done, row.total)
    return KeptSearch(
        search_id, status, progress, row.asked_at, row.expires_at, orjson.loads(row.request),
        orjson.loads(row.catalogue), None if row.found is None else orjson.loads(zlib.decompress(row.found)), failure,
    )  # fmt: skip


def _spelt(time: datetime) -> str:
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")
