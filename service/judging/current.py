"""The catalogue as it stands, asked of a server once for all who wait."""

from __future__ import annotations

import asyncio

from service.catalogue.references import References, Standing

Asking = asyncio.Task[Standing]


class Current:
    """An embedded database answers at once. It is asked once in each turn of the event loop: all who are answered in
    that turn had come before it began.

    A server takes its time. Who comes while a question to it is under way might be answered with what held before he
    came, so he gets the next one, together with all others who come until that begins.
    """

    def __init__(self, references: References, *, embedded: bool) -> None:
        self._references, self._embedded = references, embedded
        self._under_way: dict[asyncio.AbstractEventLoop, Asking] = {}
        self._next: dict[asyncio.AbstractEventLoop, Asking] = {}
        self._in_this_turn: dict[asyncio.AbstractEventLoop, Standing] = {}

    async def standing(self) -> Standing:
        loop = asyncio.get_running_loop()
        if self._embedded:
            return self._at_once(loop)
        asking = self._next.get(loop)
        if asking is None:
            asking = self._next[loop] = loop.create_task(self._ask(loop, self._under_way.get(loop)))
        return await asyncio.shield(asking)  # one who goes away must not take the others' answer with him

    def _at_once(self, loop: asyncio.AbstractEventLoop) -> Standing:
        standing = self._in_this_turn.get(loop)
        if standing is None:
            standing = self._in_this_turn[loop] = self._references.standing()
            loop.call_soon(self._in_this_turn.pop, loop)
        return standing

    async def _ask(self, loop: asyncio.AbstractEventLoop, before: Asking | None) -> Standing:
        if before is not None:
            await asyncio.wait([before])
        self._under_way[loop] = self._next.pop(loop)
        return await loop.run_in_executor(None, self._references.standing)
