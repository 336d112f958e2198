"""Whether the catalogue has changed, asked in the cheapest way: one number, over a connection that is kept open."""

from __future__ import annotations

import threading
from typing import Any

from sqlalchemy.exc import OperationalError

from service.database import THERE_S, Database

ASK = "SELECT changes FROM catalogue_state"


class StateMissingError(RuntimeError):
    """The counter's row is gone: somebody has been at the database."""


class CatalogueState:
    """The counter that the database itself moves with every change of a vehicle, an axle or a part, whoever makes it.

    The question goes straight to the driver: it is asked for every evaluation, and the usual way takes thirty times as
    long.
    """

    def __init__(self, database: Database) -> None:
        self._engine = database.engine
        self._failures = self._engine.dialect.loaded_dbapi.Error
        self._connection: Any = None
        self._asking = threading.Lock()

    def changes(self) -> int:
        """How often the catalogue has changed until now. Raises ``OperationalError`` where the database is away."""
        with self._asking:
            if self._connection is not None:
                try:
                    return self._ask()
                except self._failures:
                    self._forget()  # the server may have been started anew: a new connection will tell
            try:
                self._connect()
                return self._ask()
            except self._failures as error:
                self._forget()
                raise OperationalError(ASK, {}, error) from error

    def close(self) -> None:
        with self._asking:
            self._forget()

    def _ask(self) -> int:
        row = self._connection.execute(ASK).fetchone()
        if row is None:
            raise StateMissingError("The catalogue has lost its counter: nothing kept in memory can be trusted.")
        return int(row[0])

    def _connect(self) -> None:
        pooled = self._engine.raw_connection()
        self._connection = pooled.dbapi_connection
        pooled.detach()  # it never goes back among the others
        if self._engine.dialect.name == "postgresql":
            self._connection.autocommit = True
            self._connection.patience_s = THERE_S

    def _forget(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None
