"""A connection to PostgreSQL whose patience has an end.

A server that stands still, or has a network between that swallows everything, keeps its end of the connection. Its own
limits for a statement are no help then, as it would have to tell, and the network's are none, as the machine goes on
acknowledging. So the driver's wait for a word is ended here.
"""

from __future__ import annotations

from math import inf
from time import monotonic
from typing import Any, TypeVar

import psycopg
from psycopg.abc import PQGen

Result = TypeVar("Result")


class PatientConnection(psycopg.Connection[Any]):
    """Closed where the server says nothing for ``patience_s`` while an answer is awaited."""

    patience_s = inf

    def wait(self, gen: PQGen[Result], *arguments: Any, **options: Any) -> Result:
        return super().wait(self._while_heard(gen), *arguments, **options)

    def _while_heard(self, exchange: PQGen[Result]) -> PQGen[Result]:
        """The same exchange, ended where it waits too long: the driver resumes it ten times a second, come what may."""
        heard = monotonic()
        try:
            wanted = next(exchange)
            while True:
                ready = yield wanted
                if ready:
                    heard = monotonic()
                elif monotonic() - heard > self.patience_s:
                    self.pgconn.finish()
                    raise psycopg.OperationalError(f"the server has said nothing for {self.patience_s:g} s")
                wanted = exchange.send(ready)
        except StopIteration as end:
            result: Result = end.value
            return result
