"""Questions that come at the same time are judged in one call of the engine.

The engine takes sixteen builds in less than three times the time of one. What has come in is judged together as soon as
a turn of the event loop brings nobody else; a question that comes alone waits for nobody.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass

from service.engine import Build, Verdicts, evaluate
from service.engine.remedies import Remedy, is_costly, remedies
from service.judging.mending import failing

MOST_MENDED_AT_ONCE = 2
"""Builds whose remedies are found on the loop: more of them would hold it up for longer than anybody should wait."""
MOST_AT_ONCE = 32
"""More would not be quicker, each by itself, and the event loop has to turn now and then."""

Verdict = tuple[dict[str, object], tuple[Remedy, ...]]
"""The engine's record of a build, and what would mend it."""


@dataclass(frozen=True, slots=True)
class Waiting:
    build: Build
    wants_remedies: bool
    future: asyncio.Future[Verdict]


class Together:
    """Each event loop has its own questions; usually there is one."""

    def __init__(self) -> None:
        self._waiting: dict[asyncio.AbstractEventLoop, list[Waiting]] = {}
        self._beside: set[asyncio.Task[None]] = set()

    async def verdict(self, build: Build, *, wants_remedies: bool = True) -> Verdict:
        loop = asyncio.get_running_loop()
        if loop not in self._waiting:
            self._waiting[loop] = []
            loop.call_soon(self._gather, loop, 0)
        future: asyncio.Future[Verdict] = loop.create_future()
        self._waiting[loop].append(Waiting(build, wants_remedies, future))
        return await future

    def _gather(self, loop: asyncio.AbstractEventLoop, before: int) -> None:
        """Judge as soon as a turn of the loop has brought nobody else: who asks at the same time is on his way."""
        came = len(self._waiting[loop])
        if 1 < came != before and came < MOST_AT_ONCE:
            loop.call_soon(self._gather, loop, came)
        else:
            self._judge(loop)

    def _judge(self, loop: asyncio.AbstractEventLoop) -> None:
        came = self._waiting.pop(loop)
        if len(came) > MOST_AT_ONCE:
            self._waiting[loop] = came[MOST_AT_ONCE:]
            loop.call_soon(self._judge, loop)
        waiting = [each for each in came[:MOST_AT_ONCE] if not each.future.done()]
        try:
            self._answer(loop, waiting)
        except Exception as error:  # noqa: BLE001 — whatever it is, each of them must hear of it
            for each in waiting:
                _fail(each, error)

    def _answer(self, loop: asyncio.AbstractEventLoop, waiting: Sequence[Waiting]) -> None:
        """All at once. Remedies of many, or for which a surveyed geometry has to be compiled anew, are found beside the
        loop.
        """
        verdicts = evaluate([each.build for each in waiting])
        failed = failing(verdicts, [row for row, each in enumerate(waiting) if each.wants_remedies])
        costly = [row for row in failed if is_costly(verdicts, row)]
        quick = [row for row in failed if row not in costly]
        beside = [[row] for row in costly] + ([quick] if len(quick) > MOST_MENDED_AT_ONCE else [])
        found = {} if quick in beside else dict(zip(quick, remedies(verdicts, quick) if quick else (), strict=True))
        for rows in beside:
            task = loop.create_task(_answer_beside(verdicts, rows, [waiting[row] for row in rows]))
            self._beside.add(task)
            task.add_done_callback(self._beside.discard)
        later = {row for rows in beside for row in rows}
        for row, each in enumerate(waiting):
            if row not in later:
                each.future.set_result((verdicts.record(row), found.get(row, ())))


async def _answer_beside(verdicts: Verdicts, rows: list[int], waiting: Sequence[Waiting]) -> None:
    try:
        found = await asyncio.get_running_loop().run_in_executor(None, remedies, verdicts, rows)
        for row, each, told in zip(rows, waiting, found, strict=True):
            if not each.future.done():
                each.future.set_result((verdicts.record(row), told))
    except Exception as error:  # noqa: BLE001 — as above
        for each in waiting:
            _fail(each, error)


def _fail(waiting: Waiting, error: Exception) -> None:
    if not waiting.future.done():
        waiting.future.set_exception(error)
