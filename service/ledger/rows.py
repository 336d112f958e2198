"""Writing the rows of many records at once, straight through the driver: building statements would take longer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, Table

from service.database import table_of
from service.ledger.tables import Evaluation, EvaluationSku

EVALUATIONS, SKUS = table_of(Evaluation), table_of(EvaluationSku)


def insert_records(connection: Connection, rows: Sequence[Mapping[str, Any]], skus: Sequence[Sequence[str]]) -> None:
    """The rows of some records and, for each of them, the parts that it is about."""
    _insert(connection, EVALUATIONS, rows)
    about = [{"evaluation_id": row["id"], "sku": sku} for row, parts in zip(rows, skus, strict=True) for sku in parts]
    if about:
        _insert(connection, SKUS, about)


def _insert(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    connection.exec_driver_sql(_statement(table, connection.dialect.name), list(rows))


@cache
def _statement(table: Table, dialect: str) -> str:
    names = [column.name for column in table.columns]
    given = ", ".join(f":{name}" if dialect == "sqlite" else f"%({name})s" for name in names)
    return f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({given})"  # noqa: S608 — names of our own
