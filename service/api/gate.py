"""The gate: who is let in, and how large a body may be.

It stands before everything that answers, so that nothing can be reached around it; it also is the last resort when
something fails.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Mapping
from contextlib import suppress

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.admission import Admission
from service.api.body import BodyTooLargeError
from service.api.hosts import require_one_host
from service.api.problem_kinds import SERVER_FAULT, TOO_LARGE
from service.api.problems import ServiceEndingError, kind_of, log_if_away, problem_response
from service.api.rate_limits import Headers

log = logging.getLogger("coilgap")

LINGER_BYTES, LINGER_S = 128 * 1024 * 1024, 5
"""How much of a body that is too large is still taken in, and for how long, after the answer (common practice)."""


class Gate:
    """Pure ASGI, as a wrapper of another kind would cost more than the rest of a request."""

    def __init__(self, app: ASGIApp, admission: Admission, most_bytes: int, most_bytes_at: Mapping[str, int]) -> None:
        self.app = app
        self.admission = admission
        self.most_bytes, self.most_bytes_at = most_bytes, most_bytes_at

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        passage = _Passage(receive, send, self.most_bytes_at.get(scope["path"], self.most_bytes))
        try:
            require_one_host(scope)
            _refuse_unprintable_address(scope)
            await self.admission.admit(scope, passage.stated)
            passage.refuse_large_body(scope)
            await self.app(scope, passage.receive, passage.send)
        except ClientDisconnect:
            return  # nobody is left to answer
        except asyncio.CancelledError:  # the service ends, and waits no longer; whoever is told so needs no trace
            if passage.started:
                raise
            await problem_response(scope, ServiceEndingError())(scope, receive, passage.send)
        except Exception as error:  # whatever it is, the client gets an answer and no stack trace
            if kind_of(error) is SERVER_FAULT:
                request_id = scope["state"]["request_id"]
                log.exception("request %s failed", request_id, extra={"facts": {"request_id": request_id}})
            log_if_away(scope, error)
            if passage.started:
                raise
            await problem_response(scope, error)(scope, receive, passage.send)


def _refuse_unprintable_address(scope: Scope) -> None:
    """No address has such signs, and routes pass over a line's end behind theirs."""
    if not scope["path"].isprintable():
        raise HTTPException(404)


class _Passage:
    """One request on its way in and its answer on its way out."""

    def __init__(self, receive: Receive, send: Send, most_bytes: int) -> None:
        self.started = False
        self.stated: Headers = []
        self._receive, self._send = receive, send
        self._most_bytes, self._bytes_in = most_bytes, 0
        self._is_all_in = self._lingers = False

    def refuse_large_body(self, scope: Scope) -> None:
        for name, value in scope["headers"]:
            if name == b"content-length" and value.isdigit() and int(value) > self._most_bytes:
                raise BodyTooLargeError(self._most_bytes)

    async def receive(self) -> Message:
        message = await self._take_in()
        if self._bytes_in > self._most_bytes:
            raise BodyTooLargeError(self._most_bytes)
        return message

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            self._lingers = message["status"] == TOO_LARGE.status
            if self.stated:
                message["headers"] = [*message.get("headers", ()), *self.stated]
        elif self._lingers and not message.get("more_body", False):
            await self._send({**message, "more_body": True})
            with suppress(TimeoutError):
                await asyncio.wait_for(self._linger(), LINGER_S)
            message = {"type": "http.response.body", "body": b""}
        await self._send(message)

    async def _take_in(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._bytes_in += len(message.get("body", b""))
            self._is_all_in = not message.get("more_body", False)
        else:
            self._is_all_in = True
        return message

    async def _linger(self) -> None:
        """Let the client send on and read its answer: closing at once would reset the connection, answer and all."""
        while not self._is_all_in and self._bytes_in <= LINGER_BYTES:
            await self._take_in()
