"""Reading the ledger: one record as it was answered, and listings of records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, select

from service.database import table_of
from service.ledger.tables import Evaluation, EvaluationSku

EVALUATIONS, SKUS = table_of(Evaluation), table_of(EvaluationSku)
SUMMARY = ("id", "evaluated_at", "vehicle", "axle", "verdict", "action", "headline", "policy", "engine_version")


class UnknownRecordError(LookupError):
    """The ledger has no such record."""


@dataclass(frozen=True, slots=True)
class RecordFilter:
    """What a record must be; ``None`` leaves it open. From ``since`` on, and before ``until``."""

    vehicle: str | None = None
    axle: str | None = None
    sku: str | None = None
    verdict: str | None = None
    since: str | None = None
    until: str | None = None


def record_body(connection: Connection, record_id: str) -> bytes:
    """The body as it was answered, byte for byte. Raises ``UnknownRecordError``."""
    body = connection.execute(select(EVALUATIONS.c.body).where(EVALUATIONS.c.id == record_id)).scalar()
    if body is None:
        raise UnknownRecordError(f"There is no evaluation {record_id}.")
    return bytes(body)


def records(
    connection: Connection, wanted: RecordFilter, before: str | None, limit: int
) -> tuple[list[dict[str, Any]], bool]:
    """A page of summaries, newest first, of records older than ``before``; and whether any follow."""
    rows = _narrowed(select(*(EVALUATIONS.c[name] for name in SUMMARY)), wanted)
    if before is not None:
        rows = rows.where(EVALUATIONS.c.id < before)
    found = connection.execute(rows.order_by(EVALUATIONS.c.id.desc()).limit(limit + 1)).mappings().all()
    skus = _skus(connection, [row["id"] for row in found[:limit]])
    return [{**row, "skus": skus.get(row["id"], [])} for row in found[:limit]], len(found) > limit


def _narrowed(rows: Select[Any], wanted: RecordFilter) -> Select[Any]:
    for name in ("vehicle", "axle", "verdict"):
        if getattr(wanted, name) is not None:
            rows = rows.where(EVALUATIONS.c[name] == getattr(wanted, name))
    if wanted.sku is not None:
        rows = rows.where(EVALUATIONS.c.id.in_(select(SKUS.c.evaluation_id).where(SKUS.c.sku == wanted.sku)))
    if wanted.since is not None:
        rows = rows.where(EVALUATIONS.c.evaluated_at >= wanted.since)
    if wanted.until is not None:
        rows = rows.where(EVALUATIONS.c.evaluated_at < wanted.until)
    return rows


def _skus(connection: Connection, ids: Sequence[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    rows = select(SKUS.c.evaluation_id, SKUS.c.sku).where(SKUS.c.evaluation_id.in_(ids)).order_by(SKUS.c.sku)
    for record_id, sku in connection.execute(rows):
        found.setdefault(record_id, []).append(sku)
    return found
