"""One request at a time under one key: its twin waits within this process, and is then given the first one's answer."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from time import monotonic

from service.idempotency.answers import Attempt

FORGET_EVERY_S = 3600.0


@dataclass(slots=True)
class _Held:
    lock: asyncio.Lock = field(default_factory=asyncio.Lock)
    wanted_by: int = 0


class Turns:
    def __init__(self) -> None:
        self._held: dict[tuple[str, str], _Held] = {}
        self._forget_at = 0.0

    @asynccontextmanager
    async def turn(self, attempt: Attempt) -> AsyncIterator[None]:
        """Hold the key of an attempt until the block ends."""
        name = (attempt.caller, attempt.key)
        held = self._held.setdefault(name, _Held())
        held.wanted_by += 1
        try:
            async with held.lock:
                yield
        finally:
            held.wanted_by -= 1
            if not held.wanted_by:
                del self._held[name]

    def is_time_to_forget(self) -> bool:
        """Once an hour: whether old answers should be removed now."""
        if self._forget_at > monotonic():
            return False
        self._forget_at = monotonic() + FORGET_EVERY_S
        return True
