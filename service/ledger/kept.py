"""Records as they were kept, to be judged once more."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import Connection, select

from service.ledger.records import EVALUATIONS, UnknownRecordError

AT_ONCE = 200
COLUMNS = [EVALUATIONS.c[name] for name in ("id", "request", "revisions", "body")]


@dataclass(frozen=True, slots=True)
class KeptRecord:
    """What was asked, in ``request`` as canonical JSON; the revisions it was decided from; what was answered."""

    record_id: str
    request: bytes
    revisions: dict[str, Any]
    body: dict[str, Any]


def kept_record(connection: Connection, record_id: str) -> KeptRecord:
    """One record. Raises ``UnknownRecordError``."""
    row = connection.execute(select(*COLUMNS).where(EVALUATIONS.c.id == record_id)).first()
    if row is None:
        raise UnknownRecordError(f"There is no evaluation {record_id}.")
    return _kept(*row)


def kept_since(connection: Connection, since: str) -> Iterator[KeptRecord]:
    """Every record from a time on, in the order of the chain; read a few at a time."""
    rows = select(*COLUMNS).where(EVALUATIONS.c.evaluated_at >= since).order_by(EVALUATIONS.c.place)
    for row in connection.execute(rows, execution_options={"yield_per": AT_ONCE}):
        yield _kept(*row)


def _kept(record_id: str, request: str, revisions: str, body: bytes) -> KeptRecord:
    return KeptRecord(record_id, request.encode(), orjson.loads(revisions), orjson.loads(body))
