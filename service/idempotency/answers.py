"""Keeping the first answer under an Idempotency-Key, in the very transaction that does what the request asks.

So a request is either done and its answer kept, or neither: a process that dies in between leaves nothing half done. Of
two processes that are sent the same request at once one writes its row; the other finds it and takes back its own work.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import orjson
from sqlalchemy import Connection, delete, select, update
from sqlalchemy.dialects import postgresql, sqlite

from service.database import table_of, utc_now
from service.idempotency.tables import FirstAnswer

ANSWERS = table_of(FirstAnswer)
HOURS_KEPT = 24


class AnsweredMeanwhileError(Exception):
    """Another request under the same key was quicker; what this one did is taken back."""


@dataclass(slots=True)
class Attempt:
    """A request under a key: who sent it, its key, the digest of what it asks, and whether its answer is kept yet."""

    caller: str
    key: str
    sha256: str
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer as it went out the first time."""

    status: int
    headers: Mapping[str, str]
    body: bytes


@dataclass(frozen=True, slots=True)
class Kept:
    """An answer and the digest of the request that it was given to."""

    sha256: str
    answer: Answer


def find(connection: Connection, attempt: Attempt) -> Kept | None:
    """What was answered under the key of an attempt, if it is still kept."""
    mine = (ANSWERS.c.caller == attempt.caller, ANSWERS.c.idempotency_key == attempt.key)
    rows = select(ANSWERS.c.request_sha256, ANSWERS.c.status, ANSWERS.c.headers, ANSWERS.c.body)
    row = connection.execute(rows.where(*mine, ANSWERS.c.answered_at >= _oldest_kept())).first()
    if row is None:
        return None
    return Kept(row.request_sha256, Answer(row.status, orjson.loads(row.headers), bytes(row.body)))


def keep(connection: Connection, attempt: Attempt, answer: Answer) -> None:
    """Keep the first answer. Raises ``AnsweredMeanwhileError`` if there is one."""
    if not keep_if_first(connection, attempt, answer):
        raise AnsweredMeanwhileError


def keep_if_first(connection: Connection, attempt: Attempt, answer: Answer) -> bool:
    """Keep an answer unless one is kept; whether it was. A server waits here for another transaction under the key."""
    values = {
        "caller": attempt.caller,
        "idempotency_key": attempt.key,
        "request_sha256": attempt.sha256,
        "answered_at": utc_now(),
        **_columns(answer),
    }
    names = ("caller", "idempotency_key")
    changes = {name: value for name, value in values.items() if name not in names}
    insert: Any = sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert
    is_old = ANSWERS.c.answered_at < _oldest_kept()
    statement = insert(ANSWERS).values(**values).on_conflict_do_update(index_elements=names, set_=changes, where=is_old)
    attempt.kept = connection.execute(statement.returning(ANSWERS.c.status)).first() is not None
    return attempt.kept


def renew(connection: Connection, attempt: Attempt, answer: Answer) -> None:
    """Keep the answer of work that has ended in place of the one that was kept when it began."""
    mine = (ANSWERS.c.caller == attempt.caller, ANSWERS.c.idempotency_key == attempt.key)
    connection.execute(update(ANSWERS).where(*mine).values(**_columns(answer)))


def forget_old(connection: Connection) -> None:
    """Remove what is older than a day."""
    connection.execute(delete(ANSWERS).where(ANSWERS.c.answered_at < _oldest_kept()))


def _columns(answer: Answer) -> dict[str, Any]:
    headers = orjson.dumps(dict(answer.headers)).decode()
    return {"status": answer.status, "headers": headers, "body": answer.body}


def _oldest_kept() -> str:
    return (datetime.now(UTC) - timedelta(hours=HOURS_KEPT)).strftime("%Y-%m-%dT%H:%M:%SZ")
