"""Verdicts that were given lately, by the bytes of the request: who asks the same again need not wait for the sum."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass

from service.judging.judged import Judged

ROOM_BYTES = 32 * 1024 * 1024
BESIDE_BYTES = 2048
"""What an entry takes beside its texts, about."""


@dataclass(frozen=True, slots=True)
class Ready:
    """A verdict, and whether the request wants it kept. Before it is given, see whether it still holds."""

    judged: Judged
    keep: bool

    @property
    def size(self) -> int:
        return len(self.judged.middle) + len(self.judged.asked) + BESIDE_BYTES


class ReadyAnswers:
    """As many as there is room for; those that nobody has asked for the longest go first."""

    def __init__(self, room_bytes: int = ROOM_BYTES) -> None:
        self._left_bytes = room_bytes
        self._ready: OrderedDict[bytes, Ready] = OrderedDict()

    def find(self, asked: bytes) -> Ready | None:
        digest = _digest(asked)
        ready = self._ready.get(digest)
        if ready is not None:
            self._ready.move_to_end(digest)
        return ready

    def keep(self, asked: bytes, ready: Ready) -> None:
        digest = _digest(asked)
        before = self._ready.pop(digest, None)
        self._left_bytes += (before.size if before else 0) - ready.size
        self._ready[digest] = ready
        while self._left_bytes < 0:
            _, oldest = self._ready.popitem(last=False)
            self._left_bytes += oldest.size


def _digest(asked: bytes) -> bytes:
    return hashlib.sha256(asked).digest()
