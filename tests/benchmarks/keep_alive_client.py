"""A caller on the same machine that costs little itself: HTTP/1.1 over a few kept connections, one request at a time on
each, and nothing read of an answer but its status and its length.
"""

import asyncio
import re
from collections.abc import Iterator, Sequence
from functools import partial
from time import perf_counter
from typing import NamedTuple, cast

import uvloop

HOST = "127.0.0.1"
CONNECTIONS = 16
PATIENCE_S = 120
LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)", re.IGNORECASE)


class Answer(NamedTuple):
    status: int
    body: bytes


class Load(NamedTuple):
    """What a number of requests took together, and each of them."""

    seconds: float
    latencies: list[float]
    statuses: set[int]


def post(path: str, body: bytes) -> bytes:
    """A request as it goes over the wire."""
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {HOST}\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


def get(address: str, *headers: str) -> bytes:
    """A request without a body as it goes over the wire."""
    return "\r\n".join((f"GET {address} HTTP/1.1", f"Host: {HOST}", *headers, "", "")).encode()


def ask(port: int, request: bytes) -> Answer:
    """One request and its whole answer."""
    callers = uvloop.run(_asked(port, [request], 1))
    return Answer(callers[0].statuses.pop(), callers[0].last_body)


def load(port: int, requests: Sequence[bytes], connections: int = CONNECTIONS) -> Load:
    """Send every request once, over so many connections at a time."""
    started = perf_counter()
    callers = uvloop.run(_asked(port, requests, connections))
    seconds = perf_counter() - started
    latencies = [latency for caller in callers for latency in caller.latencies]
    return Load(seconds, latencies, {status for caller in callers for status in caller.statuses})


async def _asked(port: int, requests: Sequence[bytes], connections: int) -> "list[_Caller]":
    loop = asyncio.get_running_loop()
    left = iter(requests)
    callers: list[_Caller] = []
    for _ in range(connections):
        _, caller = await loop.create_connection(partial(_Caller, left, loop.create_future()), HOST, port)
        callers.append(caller)
    async with asyncio.timeout(PATIENCE_S):
        await asyncio.gather(*(caller.done for caller in callers))
    return callers


class _Caller(asyncio.Protocol):
    """One connection that takes the next request from a common heap as soon as its last one is answered."""

    def __init__(self, left: Iterator[bytes], done: asyncio.Future[None]) -> None:
        self.left, self.done = left, done
        self.latencies: list[float] = []
        self.statuses: set[int] = set()
        self.last_body = b""
        self._came = bytearray()
        self._end = 0

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._transport = cast("asyncio.WriteTransport", transport)
        self._next()

    def data_received(self, data: bytes) -> None:
        self._came += data
        if not self._end:
            self._read_head()
        if self._end and len(self._came) >= self._end:
            self.latencies.append(perf_counter() - self._sent)
            self._next()

    def connection_lost(self, error: Exception | None) -> None:
        if not self.done.done():
            self.done.set_exception(error or ConnectionError("the service closed the connection"))

    def _read_head(self) -> None:
        head = self._came.find(b"\r\n\r\n")
        if head >= 0:
            self.statuses.add(int(self._came[9:12]))
            self._body_from = head + 4
            length = LENGTH.search(self._came, 0, head)
            self._end = self._body_from + int(length[1] if length else 0)

    def _next(self) -> None:
        request = next(self.left, None)
        if request is None:
            self._finish()
            return
        self._came.clear()
        self._end = 0
        self._sent = perf_counter()
        self._transport.write(request)

    def _finish(self) -> None:
        if self._end:
            self.last_body = bytes(self._came[self._body_from :])
        if not self.done.done():
            self.done.set_result(None)
        self._transport.close()
