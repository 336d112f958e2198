"""Searches beside the event loop: one at a time in each process, a few more may wait for their turn.

Their progress is in the database, so that every process can tell it; and as long as they are waiting or under way, a
sign of life is put beside it. A search that gives none any more has died with its process.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from time import perf_counter
from typing import Any

from sqlalchemy import Connection

from service.database import UNREACHABLE, Database
from service.engine.search import search
from service.judging.searching import Asked, Prepared, to_keep
from service.metrics import SEARCH_SECONDS, SEARCHES
from service.searches import kept
from service.searches.kept import Failure, Progress

log = logging.getLogger("coilgap")

MOST_AT_ONCE = 8
"""Searches of one process, the one under way and those that wait: each may take some ten seconds."""
BEAT_EVERY_S = 2.0
"""Seconds between two signs of life; an import may keep an embedded database for longer (see ``kept.STALE_S``)."""
WAITS_S = (1.0, 5.0, 20.0)
"""Seconds between attempts to keep what was found: it took long enough."""

Along = Callable[[Connection], None]


class SearchesBusyError(Exception):
    """As many searches wait already as may."""

    def __init__(self) -> None:
        super().__init__(f"{MOST_AT_ONCE} searches are under way or waiting already: ask again in a few seconds.")


class _StoppedError(Exception):
    """The service ends, and with it the search."""


class SearchQueue:
    def __init__(self, database: Database) -> None:
        self._database = database
        self._executor = ThreadPoolExecutor(1, "search")
        self._beating: threading.Thread | None = None
        self._stop = threading.Event()
        self._under_way: dict[str, Progress] = {}
        self._changing = threading.Lock()

    def begin(self, search_id: str, asked: Asked, prepared: Prepared, along: Along) -> Future[None]:
        """Keep a search, ``along`` with what is kept in the same transaction, and put it to the others.

        What is returned is done when the search is, however it ended, and cannot be cancelled. Raises
        ``SearchesBusyError`` before anything is kept.
        """
        self._take_place(search_id, prepared.total)
        try:
            with self._database.writing() as connection:
                kept.begin(connection, search_id, prepared.total, asked, prepared.catalogue)
                along(connection)
            ended: Future[None] = Future()
            ended.set_running_or_notify_cancel()
            self._executor.submit(self._run, search_id, prepared, ended)
        except BaseException:
            self._leave(search_id)
            raise
        return ended

    def progress(self, search_id: str) -> Progress | None:
        """How far a search is, if it is waiting or under way in this process."""
        return self._under_way.get(search_id)

    def close(self) -> None:
        """End what is under way, and tell whoever asks for it later."""
        self._stop.set()
        self._executor.shutdown(cancel_futures=True)
        if self._beating is not None:
            self._beating.join()
        for search_id in list(self._under_way):
            self._fail(search_id, "interrupted")

    def _take_place(self, search_id: str, total: int) -> None:
        with self._changing:
            if len(self._under_way) >= MOST_AT_ONCE:
                SEARCHES.labels("turned_away").inc()
                raise SearchesBusyError
            self._under_way[search_id] = 0, total
            if self._beating is None:
                self._beating = threading.Thread(target=self._beat, name="searches-beat", daemon=True)
                self._beating.start()

    def _leave(self, search_id: str) -> None:
        with self._changing:
            self._under_way.pop(search_id, None)

    def _run(self, search_id: str, prepared: Prepared, ended: Future[None]) -> None:
        began = perf_counter()

        def tell(done: int, of: int) -> None:
            if self._stop.is_set():
                raise _StoppedError
            self._under_way[search_id] = done, of

        try:
            found = search(prepared.wanted, tell)
            told = to_keep(found, len(prepared.wanted.kept))
            self._end(search_id, told)
            SEARCHES.labels("found" if found.clear else "nothing").inc()
        except _StoppedError:
            self._fail(search_id, "interrupted")
        except UNREACHABLE:
            log.warning("search %s: the database is away, and what was found is lost", search_id)
            SEARCHES.labels("interrupted").inc()  # it gives no sign of life any more, so others tell the same
        except Exception:
            log.exception("search %s has failed", search_id)
            self._fail(search_id, "fault")
        finally:
            SEARCH_SECONDS.observe(perf_counter() - began)
            self._leave(search_id)
            ended.set_result(None)

    def _end(self, search_id: str, told: dict[str, Any]) -> None:
        for wait_s in (*WAITS_S, None):
            try:
                with self._database.writing() as connection:
                    kept.end(connection, search_id, self._under_way[search_id], told)
            except UNREACHABLE:
                if wait_s is None or self._stop.wait(wait_s):
                    raise
            else:
                return

    def _fail(self, search_id: str, failure: Failure) -> None:
        SEARCHES.labels({"fault": "failed"}.get(failure, failure)).inc()
        try:
            with self._database.writing() as connection:
                kept.fail(connection, search_id, failure)
        except UNREACHABLE as error:
            log.warning("search %s: the database is away: %s", search_id, str(error).split("\n", 1)[0])

    def _beat(self) -> None:
        while not self._stop.wait(BEAT_EVERY_S):
            with self._changing:
                under_way = dict(self._under_way)
            if not under_way:
                continue
            try:
                with self._database.writing() as connection:
                    kept.beat(connection, under_way)
            except UNREACHABLE as error:
                log.warning("searches: the database is away: %s", str(error).split("\n", 1)[0])
