"""Writing records so that many requests share one durable commit.

A commit waits for the disk, and the disk is as quick with a hundred records as with one. So one thread writes whatever
has been asked for since its last commit, and each request is answered after the commit that holds its record.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Any

from sqlalchemy import Connection

from service.database import Database
from service.ledger.chain import Head, chained, held_head, move_head
from service.ledger.rows import insert_records
from service.metrics import LEDGER_QUEUE

MOST_AT_ONCE = 256


@dataclass(frozen=True, slots=True)
class Entry:
    """One record: the columns of its row, and the parts it is about.

    ``is_first`` is asked within the transaction, and may write; if it says no, another record stands in the place of
    this one and of those that are appended with it.
    """

    row: dict[str, Any]
    skus: tuple[str, ...]
    is_first: Callable[[Connection], bool] | None = None


class NotFirstError(Exception):
    """The record was not written: another one stands in its place."""


@dataclass(frozen=True, slots=True)
class _Waiting:
    entries: tuple[Entry, ...]
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
    """Appends records; ``append`` returns when they are durable, or raises what the database raised.

    Records that are appended together are written together or not at all.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self._queue: SimpleQueue[_Waiting | None] = SimpleQueue()
        self._thread: threading.Thread | None = None
        self._starting = threading.Lock()

    async def append(self, *entries: Entry) -> None:
        self._start()
        loop = asyncio.get_running_loop()
        waiting = _Waiting(entries, loop, loop.create_future())
        LEDGER_QUEUE.inc(len(entries))
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
                outcomes = self._write(batch)
                LEDGER_QUEUE.dec(sum(len(waiting.entries) for waiting in batch))
                for waiting, error in outcomes:
                    _answer(waiting, error)
            if last:
                return

    def _next_batch(self) -> tuple[list[_Waiting], bool]:
        batch: list[_Waiting] = []
        records = 0
        item = self._queue.get()
        while item is not None:
            batch.append(item)
            records += len(item.entries)
            if records >= MOST_AT_ONCE:
                return batch, False
            try:
                item = self._queue.get_nowait()
            except Empty:
                return batch, False
        return batch, True

    def _write(self, batch: list[_Waiting]) -> list[tuple[list[_Waiting], Exception | None]]:
        """Who is to hear what: most that their record is durable."""
        new: list[_Waiting] = []
        late: list[_Waiting] = []
        try:
            with self._database.writing() as connection:
                before = held_head(connection)
                for waiting in batch:
                    (new if _is_first(connection, waiting.entries) else late).append(waiting)
                _insert(connection, before, [entry for waiting in new for entry in waiting.entries])
        except Exception as error:  # noqa: BLE001 — whatever it is, each waiting request must hear of it
            return [(batch, error)]
        return [(new, None), (late, NotFirstError())]


def _is_first(connection: Connection, entries: tuple[Entry, ...]) -> bool:
    return all(entry.is_first is None or entry.is_first(connection) for entry in entries)


def _insert(connection: Connection, before: Head, entries: list[Entry]) -> None:
    if not entries:
        return
    rows, head = chained(before, [(entry.row, entry.skus) for entry in entries])
    insert_records(connection, rows, [entry.skus for entry in entries])
    move_head(connection, head)


def _answer(batch: list[_Waiting], error: Exception | None) -> None:
    for loop in {waiting.loop for waiting in batch}:
        mine = [waiting for waiting in batch if waiting.loop is loop]
        with suppress(RuntimeError):  # that loop has ended, and with it whoever waited
            loop.call_soon_threadsafe(_answer_each, mine, error)


def _answer_each(batch: list[_Waiting], error: Exception | None) -> None:
    for waiting in batch:
        waiting.answer(error)
