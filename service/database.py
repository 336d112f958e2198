"""The database under catalogue and ledger: the names of its constraints, its connections, the two ways to use it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any, ClassVar

import orjson
from sqlalchemy import Connection, Engine, MetaData, Table, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlmodel import SQLModel

BUSY_TIMEOUT_MS = 10_000
"""How long a writer waits for another one on an embedded database; a write takes a few milliseconds."""

UNREACHABLE = (OperationalError, InterfaceError, PoolTimeoutError)
"""What SQLAlchemy raises when the database does not answer, or answers that it cannot."""


class Row(SQLModel):
    """Base of every table. The names of constraints are fixed here, so that a migration can name what it changes."""

    metadata: ClassVar[MetaData] = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_N_label)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


def table_of(row: type[Row]) -> Table:
    """The table that a row class declares."""
    return Row.metadata.tables[str(row.__tablename__)]


def database_address(url: str) -> URL:
    """The address with the driver that is installed for it."""
    address = make_url(url)
    if address.get_backend_name() in ("postgresql", "postgres"):
        return address.set(drivername="postgresql+psycopg")
    return address


class Database:
    """Connections to one database. ``embedded``: SQLite, that is one process and a file that is ours alone."""

    def __init__(self, url: str) -> None:
        address = database_address(url)
        self.embedded = address.get_backend_name() == "sqlite"
        self.engine = _embedded_engine(address) if self.embedded else _server_engine(address)
        self._writing = self.engine.execution_options(writes=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection whose work is rolled back at the end."""
        with self.engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is durable when the block ends, or undone when it raises."""
        with self._writing.begin() as connection:
            yield connection

    def close(self) -> None:
        self.engine.dispose()


def _embedded_engine(address: URL) -> Engine:
    engine = create_engine(address, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000}, pool_size=20, max_overflow=40)
    event.listen(engine, "connect", _set_pragmas)
    event.listen(engine, "begin", begin_transaction)
    return engine


def _server_engine(address: URL) -> Engine:
    return create_engine(address, pool_pre_ping=True, pool_timeout=5, connect_args={"connect_timeout": 3})


def _set_pragmas(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # the driver begins nothing by itself: begin_transaction does
    for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")


def begin_transaction(connection: Connection) -> None:
    """A writer takes its turn at once: one that first reads and then writes would be refused instead of waiting."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def canonical(value: object) -> bytes:
    """One spelling of a JSON value: keys sorted, no blanks, numbers in their shortest form.

    >>> canonical({"b": 2.50, "a": [1]})
    b'{"a":[1],"b":2.5}'
    """
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS)


def utc_now() -> str:
    """The time now by RFC 3339 in UTC, whole seconds: this spelling sorts as the times do."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
