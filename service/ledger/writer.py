"""Writing records so that many requests share one durable commit.

A commit waits for the disk, and the disk is as quick with a hundred records as with one. So one thread writes whatever
has been asked for since its last commit, and each request is answered after the commit that holds its record.
"""

from __future__ import annotations

import asyncio
import threading
from contextlib import suppress
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Any

from sqlalchemy import insert

from service.database import Database, table_of
from service.ledger.tables import Evaluation, EvaluationSku

MOST_AT_ONCE = 256


@dataclass(frozen=True, slots=True)
class Entry:
    """One record: the columns of its row, and the parts it is about."""

    row: dict[str, Any]
    skus: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Waiting:
    entry: Entry
    loop: asyncio.AbstractEventLoop
    done: asyncio.Future[None]

    def answer(self, error: Exception | None) -> None:
        if self.done.done():
            return  # the caller has gone
        if error is None:
            self.done.set_result(None)
        else:
            self.done.set_exception(error)


class LedgerWriter:
    """Appends records; each ``append`` returns when its record is durable, or raises what the database raised."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._queue: SimpleQueue[_Waiting | None] = SimpleQueue()
        self._thread: threading.Thread | None = None
        self._starting = threading.Lock()

    async def append(self, entry: Entry) -> None:
        self._start()
        loop = asyncio.get_running_loop()
        waiting = _Waiting(entry, loop, loop.create_future())
        self._queue.put(waiting)
        await waiting.done

    def close(self) -> None:
        """Write what is waiting and stop."""
        if self._thread is not None:
            self._queue.put(None)
            self._thread.join()
            self._thread = None

    def _start(self) -> None:
        with self._starting:
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="ledger", daemon=True)
                self._thread.start()

    def _run(self) -> None:
        while True:
            batch, last = self._next_batch()
            if batch:
                _answer(batch, self._write(batch))
            if last:
                return

    def _next_batch(self) -> tuple[list[_Waiting], bool]:
        batch: list[_Waiting] = []
        item = self._queue.get()
        while item is not None:
            batch.append(item)
            if len(batch) == MOST_AT_ONCE:
                return batch, False
            try:
                item = self._queue.get_nowait()
            except Empty:
                return batch, False
        return batch, True

    def _write(self, batch: list[_Waiting]) -> Exception | None:
        try:
            with self._database.writing() as connection:
                connection.execute(insert(table_of(Evaluation)), [waiting.entry.row for waiting in batch])
                skus = [
                    {"evaluation_id": waiting.entry.row["id"], "sku": sku}
                    for waiting in batch
                    for sku in waiting.entry.skus
                ]
                if skus:
                    connection.execute(insert(table_of(EvaluationSku)), skus)
        except Exception as error:  # noqa: BLE001 — whatever it is, each waiting request must hear of it
            return error
        return None


def _answer(batch: list[_Waiting], error: Exception | None) -> None:
    for loop in {waiting.loop for waiting in batch}:
        mine = [waiting for waiting in batch if waiting.loop is loop]
        with suppress(RuntimeError):  # that loop has ended, and with it whoever waited
            loop.call_soon_threadsafe(_answer_each, mine, error)


def _answer_each(batch: list[_Waiting], error: Exception | None) -> None:
    for waiting in batch:
        waiting.answer(error)
