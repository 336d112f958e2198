"""Records as they were kept, to be judged once more."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import orjson
from sqlalchemy import Connection, TextClause, text

from service.ledger.records import UnknownRecordError

AT_ONCE = 200


@dataclass(frozen=True)
class KeptRecord:
    """What was asked, in ``request`` as canonical JSON; what was answered, in ``body_json``; and, in
    ``revisions_json``, the revisions it was decided from.

    Cells that somebody has altered may hold anything. That shows when they are looked into, not when they are read.
    """

    record_id: str
    engine_version: str
    request: str
    revisions_json: str
    body_json: bytes

    @cached_property
    def revisions(self) -> dict[str, Any]:
        return _object(self.revisions_json)

    @cached_property
    def body(self) -> dict[str, Any]:
        return _object(self.body_json)


def kept_record(connection: Connection, record_id: str) -> KeptRecord:
    """One record. Raises ``UnknownRecordError``."""
    row = connection.execute(_rows("WHERE id = :id"), {"id": record_id}).first()
    if row is None:
        raise UnknownRecordError(f"There is no evaluation {record_id}.")
    return KeptRecord(*row)


def kept_since(connection: Connection, since: str) -> Iterator[KeptRecord]:
    """Every record from a time on, in the order of the chain; read a few at a time."""
    rows = _rows("WHERE evaluated_at >= :since ORDER BY place")
    for row in connection.execute(rows, {"since": since}, execution_options={"yield_per": AT_ONCE}):
        yield KeptRecord(*row)


def _rows(which: str) -> TextClause:
    """Without the types that the tables declare: what an altered cell holds may not be of them."""
    return text(f"SELECT id, engine_version, request, revisions, body FROM evaluation {which}")  # noqa: S608 — our words


def _object(json: str | bytes) -> dict[str, Any]:
    value: dict[str, Any] = orjson.loads(json)
    return value
