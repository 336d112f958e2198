"""Questions that come at the same time are judged in one call of the engine.

The engine takes sixteen builds in less than three times the time of one. What has come in by the end of one turn of
the event loop is judged together; a question that comes alone waits for nobody.
"""

from __future__ import annotations

import asyncio

from service.engine import Build, evaluate

MOST_AT_ONCE = 32
"""More would not be quicker, each by itself, and the event loop has to turn now and then."""

Verdict = dict[str, object]
Waiting = list[tuple[Build, asyncio.Future[Verdict]]]


class Together:
    """Each event loop has its own questions; usually there is one."""

    def __init__(self) -> None:
        self._waiting: dict[asyncio.AbstractEventLoop, Waiting] = {}

    async def verdict(self, build: Build) -> Verdict:
        loop = asyncio.get_running_loop()
        if loop not in self._waiting:
            self._waiting[loop] = []
            loop.call_soon(self._judge, loop)
        future: asyncio.Future[Verdict] = loop.create_future()
        self._waiting[loop].append((build, future))
        return await future

    def _judge(self, loop: asyncio.AbstractEventLoop) -> None:
        came = self._waiting.pop(loop)
        if len(came) > MOST_AT_ONCE:
            self._waiting[loop] = came[MOST_AT_ONCE:]
            loop.call_soon(self._judge, loop)
        waiting = [(build, future) for build, future in came[:MOST_AT_ONCE] if not future.done()]
        try:
            verdicts = evaluate([build for build, _ in waiting])
            for row, (_, future) in enumerate(waiting):
                future.set_result(verdicts.record(row))
        except Exception as error:  # noqa: BLE001 — whatever it is, each of them must hear of it
            for _, future in waiting:
                if not future.done():
                    future.set_exception(error)
