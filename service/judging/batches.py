"""Batches are judged beside the event loop, one after the other: by other processes where there are cores for them,
else by a thread.

A thread shares the interpreter with the event loop, so that whoever asks a single question waits for the batch again
and again; another process does not, and two of them are quicker than one. The first batch that is large enough begins
the processes and does not wait for them.
"""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Callable, Sequence
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from itertools import chain
from typing import NamedTuple, TypeVar

from service.catalogue.references import References
from service.database import UNREACHABLE, Database
from service.engine.refusal import RefusedError
from service.judging.judge import Question, judge_all
from service.judging.judged import Judged
from service.process_pool import begin_pool, end_pool

log = logging.getLogger("coilgap")

Verdicts = list[Judged | RefusedError]
Found = TypeVar("Found")
WORTH_SHARING = 64
"""Questions of a batch from which on it is shared out: sending fewer to and fro costs about what it gains."""
MOST_IN_A_PIECE = 125
"""Questions that a process judges at a time: more are not quicker, each by itself, and pieces differ in difficulty."""
BEHIND = 10
"""How much more willing (``nice``) the processes are to wait for a core than who answers single questions."""
SECONDS_TO_END = 5
"""How long a process may take to end: a piece takes one or two, and nobody waits for it any more."""
CONNECTIONS = 2
"""A process of the pool needs one for the catalogue's counter and one to read it."""


class Share(NamedTuple):
    """What a process makes of a piece of a batch, and the catalogue's counter before and after: what is read in between
    may be newer than the first.
    """

    before: int
    after: int
    verdicts: Verdicts


class Batches:
    """``processes`` 0: a thread alone."""

    def __init__(self, references: References, database_url: str, timeout_s: int, processes: int) -> None:
        self._references, self._database = references, (database_url, timeout_s)
        self._processes = processes
        self._thread = ThreadPoolExecutor(1, "batches")
        self._pool: ProcessPoolExecutor | None = None
        self._beginning: list[Future[int]] = []
        self._closings = 0

    async def judge_all(self, questions: Sequence[Question]) -> Verdicts:
        """A verdict or a refusal for each question, in their order, all at one state of the catalogue."""
        pool = self._pool_for(len(questions))
        return await self.run(self._judge_all, pool, questions, self._closings)

    async def run(self, function: Callable[..., Found], *arguments: object) -> Found:
        """Something else that takes long, when its turn has come."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, function, *arguments)

    def close(self) -> None:
        """End the batches under way, and the processes, each after the piece that it is at. A batch that comes later
        begins others.
        """
        self._closings += 1
        pool, self._pool = self._pool, None
        if pool is not None:
            end_pool(pool, SECONDS_TO_END)

    def _pool_for(self, questions: int) -> ProcessPoolExecutor | None:
        """The processes, if they are ready and the batch is worth it. In the event loop's thread, the main one."""
        if questions < WORTH_SHARING or not self._processes:
            return None
        if self._pool is None:
            try:
                self._pool, self._beginning = begin_pool(self._processes, _begin_judging, *self._database)
            except (OSError, NotImplementedError):
                log.warning("batches are judged by a thread: no other process can be begun here", exc_info=True)
                self._processes = 0
                return None
        return self._pool if all(each.done() for each in self._beginning) else None

    def _judge_all(self, pool: ProcessPoolExecutor | None, questions: Sequence[Question], closings: int) -> Verdicts:
        verdicts = None if pool is None else self._shared_out(pool, questions)
        if verdicts is not None:
            return verdicts
        return judge_all(self._references.standing(), questions, partial(self._go_on, closings))

    def _go_on(self, closings: int) -> None:
        """Raises ``CancelledError`` once the service ends."""
        if self._closings != closings:
            raise CancelledError

    def _shared_out(self, pool: ProcessPoolExecutor, questions: Sequence[Question]) -> Verdicts | None:
        """Nothing where the catalogue changed meanwhile, the database is away or a process has died."""
        size = min(MOST_IN_A_PIECE, -(-len(questions) // self._processes))
        pieces = [questions[first : first + size] for first in range(0, len(questions), size)]
        try:
            shares = list(pool.map(_judge_piece, pieces))
        except UNREACHABLE:
            return None
        except Exception as error:
            if isinstance(error, CancelledError) or self._pool is not pool:
                raise  # the service ends, and nobody waits for the answer any more
            log.warning("a batch is judged by a thread: other processes could not", exc_info=True)
            self._pool = None  # the next batch begins others
            end_pool(pool, 0)
            return None
        if len({changes for share in shares for changes in (share.before, share.after)}) > 1:
            return None
        return list(chain.from_iterable(share.verdicts for share in shares))


_catalogue: References
"""Of this process, if it is one of a pool."""


def _begin_judging(database_url: str, timeout_s: int) -> None:
    """In a new process of the pool."""
    if hasattr(os, "nice"):  # not everywhere
        os.nice(BEHIND)
    global _catalogue  # noqa: PLW0603 — a process of a pool has nothing else to keep it in
    _catalogue = References(Database(database_url, CONNECTIONS, timeout_s))


def _judge_piece(questions: Sequence[Question]) -> Share:
    standing = _catalogue.standing()
    verdicts = judge_all(standing, questions)
    return Share(standing.changes, _catalogue.standing().changes, verdicts)
