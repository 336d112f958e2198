"""The keys that are in use, kept for a moment in the process so that a request need not ask the database."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hmac import compare_digest
from time import monotonic, time

from sqlalchemy.exc import SQLAlchemyError

from service.database import Database
from service.keys.issuing import ADMIN, KEY, SCOPES, key_row, note_use, secret_hash

FRESH_S = 2.0
"""How long a key is believed without asking again, and so how long a revoked one may still work."""
NOTED_S = 60.0
"""How exact the time of a key's last use is: a write for each request would cost more than the request."""
MOST_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Caller:
    """Who sends a request. ``key_id`` is empty where no key is needed and none was sent."""

    key_id: str
    scopes: frozenset[str]


ANYBODY = Caller("", frozenset(SCOPES))
"""Whoever calls without a key where none is needed."""


@dataclass(slots=True)
class _Kept:
    caller: Caller
    secret_hash: str
    ends: float
    read_again: float = field(default_factory=lambda: monotonic() + FRESH_S)


class KeyRing:
    def __init__(self, database: Database) -> None:
        self._database = database
        self._kept: dict[str, _Kept] = {}
        self._note_again: dict[str, float] = {}
        self._notes = ThreadPoolExecutor(1, "keys")

    def close(self) -> None:
        """Write down what is still to be noted, and stop."""
        self._notes.shutdown()

    async def find(self, given: str) -> Caller | None:
        """Whose key this is, or ``None`` for a key that is false, revoked or expired."""
        parts = KEY.fullmatch(given)
        if parts is None:
            return None
        key_id, secret = parts.groups()
        kept = self._kept.get(key_id)
        if kept is None or kept.read_again < monotonic():
            kept = await self._read_again(key_id)
        if kept is None or not compare_digest(kept.secret_hash, secret_hash(key_id, secret)) or kept.ends <= time():
            return None
        self._note(key_id)
        return kept.caller

    async def _read_again(self, key_id: str) -> _Kept | None:
        if self._database.embedded:
            kept = self._read(key_id)
        else:  # a server may take its time, and the event loop has other callers
            kept = await asyncio.to_thread(self._read, key_id)
        if kept is None:
            self._kept.pop(key_id, None)
            return None
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        self._kept[key_id] = kept
        return kept

    def _read(self, key_id: str) -> _Kept | None:
        with self._database.reading() as connection:
            row = key_row(connection, key_id)
        if row is None or row["revoked_at"] is not None:
            return None
        return _Kept(Caller(key_id, granted(row["scopes"])), row["secret_hash"], _seconds(row["expires_at"]))

    def _note(self, key_id: str) -> None:
        now = monotonic()
        if self._note_again.get(key_id, 0.0) < now:
            if len(self._note_again) >= MOST_KEPT:
                self._note_again.clear()
            self._note_again[key_id] = now + NOTED_S
            self._notes.submit(self._write_down, key_id)

    def _write_down(self, key_id: str) -> None:
        lately = (datetime.now(UTC) - timedelta(seconds=NOTED_S)).strftime("%Y-%m-%dT%H:%M:%SZ")
        # The time of use is for people who tidy up; a request does not fail for it.
        with suppress(SQLAlchemyError), self._database.writing() as connection:
            note_use(connection, key_id, unless_since=lately)


def granted(scopes: str) -> frozenset[str]:
    """The scopes of a key; ``admin`` has all of them.

    >>> sorted(granted("admin"))
    ['admin', 'catalogue', 'evaluate']
    """
    words = frozenset(scopes.split())
    return frozenset(SCOPES) if ADMIN in words else words


def _seconds(expires_at: str | None) -> float:
    return float("inf") if expires_at is None else datetime.fromisoformat(expires_at).timestamp()
