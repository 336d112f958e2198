"""The database under catalogue and ledger: the names of its constraints, its connections, the two ways to use it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from functools import lru_cache, partial
from typing import Any, ClassVar

import orjson
from sqlalchemy import Connection, Engine, MetaData, Table, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlmodel import SQLModel

BUSY_TIMEOUT_MS = 10_000
"""How long a writer waits for another one on an embedded database; a write takes a few milliseconds."""

POOL_SIZE = 10
"""Connections of one process to a server at most: a server takes about a hundred, of all processes together."""

TIMEOUT_S = 10
"""How long a server may take over one statement, the wait for another writer's lock included."""

SILENCE_S = 2
"""How much longer than its own limit a server may say nothing: it then stands still, and the connection is given up."""

CONNECT_TIMEOUT_S, POOL_TIMEOUT_S = 3, 5
THERE_S = 3
"""How long a server may take to say that it is there: to a connection that is taken up again, and of the catalogue."""

IDLE_IN_TRANSACTION_S = 60
"""A process that stands still in the middle of its work must not hold up the others for ever."""

RECYCLE_S = 1800
"""Connections are made anew now and then: a change of the server's address is noticed without a restart."""

LOG_PAGES = 4000
"""How far the write-ahead log grows, 16 MB, before it is worked into the file: at a quarter of it, as is usual, records
take a fifth longer; at four times as much the work is felt as a pause.
"""

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

    def __init__(self, url: str, pool_size: int = POOL_SIZE, timeout_s: int = TIMEOUT_S) -> None:
        address = database_address(url)
        self.embedded = address.get_backend_name() == "sqlite"
        self.engine = _embedded_engine(address) if self.embedded else _server_engine(address, pool_size, timeout_s)
        self._writing = self.engine.execution_options(writes=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection whose work is rolled back at the end."""
        with self.engine.connect() as connection:
            yield connection

    @contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """A connection that sees one moment of the database for as long as it is open."""
        with self.engine.connect() as connection:
            if not self.embedded:  # an embedded database's transactions are of this sort by themselves
                connection = connection.execution_options(isolation_level="REPEATABLE READ")  # noqa: PLW2901
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is durable when the block ends, or undone when it raises."""
        with self._writing.begin() as connection:
            yield connection

    def close(self) -> None:
        self.engine.dispose()


def _embedded_engine(address: URL) -> Engine:
    waits = {"timeout": BUSY_TIMEOUT_MS / 1000}
    engine = create_engine(address, connect_args=waits, pool_size=20, max_overflow=40, hide_parameters=True)
    event.listen(engine, "connect", _set_pragmas)
    event.listen(engine, "begin", begin_transaction)
    return engine


def _server_engine(address: URL, pool_size: int, timeout_s: int) -> Engine:
    engine = create_engine(
        address,
        connect_args=_server_arguments(timeout_s),
        pool_size=pool_size,
        max_overflow=0,
        pool_timeout=min(POOL_TIMEOUT_S, timeout_s),
        pool_recycle=RECYCLE_S,
        pool_pre_ping=True,  # a connection that the server has dropped is exchanged before it is used
        hide_parameters=True,
    )
    engine.dialect.do_ping = partial(_ping, engine.dialect.do_ping)  # type: ignore[method-assign]
    event.listen(engine, "do_connect", partial(_connect, timeout_s + SILENCE_S))
    event.listen(engine, "connect", partial(_set_timeouts, timeout_s))
    return engine


def _server_arguments(timeout_s: int) -> dict[str, object]:
    """How the driver notices a server that is gone without a word: the network's own patience is a quarter hour."""
    return {
        "connect_timeout": min(CONNECT_TIMEOUT_S, timeout_s),
        "keepalives_idle": timeout_s,
        "keepalives_interval": 2,
        "keepalives_count": 3,
        "tcp_user_timeout": timeout_s * 1000,
        "application_name": "coilgap",
    }


def _connect(patience_s: float, _dialect: object, _record: object, given: list[str], options: dict[str, Any]) -> Any:
    from service.patient_connection import PatientConnection  # noqa: PLC0415 — who has no server does without its driver

    connection = PatientConnection.connect(*given, **options)
    connection.patience_s = patience_s
    return connection


def _ping(ping: Callable[[Any], bool], connection: Any) -> bool:
    """The usual test of a connection, given up sooner than a statement that may have much to do."""
    patience_s, connection.patience_s = connection.patience_s, THERE_S
    try:
        return ping(connection)
    finally:
        connection.patience_s = patience_s


def _set_timeouts(timeout_s: int, connection: Any, _record: object) -> None:
    # Set here and not among the driver's start options, which some connection poolers refuse.
    for name, seconds in (("statement", timeout_s), ("idle_in_transaction_session", IDLE_IN_TRANSACTION_S)):
        connection.execute(f"SET {name}_timeout = '{seconds}s'")
    connection.commit()


def _set_pragmas(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # the driver begins nothing by itself: begin_transaction does
    connection.text_factory = _text
    for pragma in ("journal_mode=WAL", f"wal_autocheckpoint={LOG_PAGES}", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _text(cell: bytes) -> str | bytes:
    """A text as it is read. An embedded database keeps any bytes as one: what is no text is given as the bytes that it
    is, so that whoever looks for altered cells can read on.
    """
    try:
        return cell.decode()
    except UnicodeDecodeError:
        return cell


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
    return _spelt(int(time.time()))


def in_utc(time: datetime) -> str:
    """The first whole second that is not before a time, spelt as ``utc_now`` does; a time without a zone is in UTC.

    >>> in_utc(datetime.fromisoformat("2026-01-31T10:00:00.5+02:00")), in_utc(datetime(800, 12, 25))
    ('2026-01-31T08:00:01Z', '0800-12-25T00:00:00Z')
    """
    aware = time if time.tzinfo else time.replace(tzinfo=UTC)
    try:
        aware = aware.astimezone(UTC) + timedelta(microseconds=-time.microsecond % 1_000_000)
    except OverflowError:  # within a day of the first or the last year that a calendar has
        aware = time
    return aware.strftime("%Y-%m-%dT%H:%M:%SZ").rjust(20, "0")


@lru_cache(1)
def _spelt(second: int) -> str:
    return in_utc(datetime.fromtimestamp(second, UTC))
