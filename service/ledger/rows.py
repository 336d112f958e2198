"""Writing the rows of many records at once, straight through the driver: building statements would take longer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Table

from service.database import table_of
from service.ledger.tables import Evaluation, EvaluationSku

MOST_ROWS = 50
"""Of one statement. Every SQLite bears 999 values in one, PostgreSQL 65,535."""
EVALUATIONS, SKUS = table_of(Evaluation), table_of(EvaluationSku)


def insert_records(connection: Connection, rows: Sequence[Mapping[str, Any]], skus: Sequence[Sequence[str]]) -> None:
    """The rows of some records and, for each of them, the parts that it is about."""
    _insert(connection, EVALUATIONS, rows)
    about = [{"evaluation_id": row["id"], "sku": sku} for row, parts in zip(rows, skus, strict=True) for sku in parts]
    if about:
        _insert(connection, SKUS, about)


def _insert(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Many rows a statement: at the end of each one the thread waits until the event loop lets it go on."""
    names = [column.name for column in table.columns]
    for first in range(0, len(rows), MOST_ROWS):
        some = rows[first : first + MOST_ROWS]
        values = tuple(row[name] for row in some for name in names)
        connection.exec_driver_sql(_statement(table, connection.dialect.name, len(some)), values)


@lru_cache(1024)
def _statement(table: Table, dialect: str, rows: int) -> str:
    names = [column.name for column in table.columns]
    row = f"({', '.join(['?' if dialect == 'sqlite' else '%s'] * len(names))})"
    return f"INSERT INTO {table.name} ({', '.join(names)}) VALUES {', '.join([row] * rows)}"  # noqa: S608 — own names
