"""What every request passes through: its id, the limit on its body, and the last resort when something fails."""

from __future__ import annotations

import logging

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.body import BodyTooLargeError
from service.api.problems import problem_response
from service.web import request_id

log = logging.getLogger("coilgap")


class RequestFrame:
    """Pure ASGI: a wrapper of another kind would cost more than the rest of a request."""

    def __init__(self, app: ASGIApp, max_body_bytes: int) -> None:
        self.app = app
        self.max_body_bytes = max_body_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        if scope["method"] == "HEAD":  # is GET without the body
            scope = {**scope, "method": "GET"}
            send = _without_body(send)
        exchange = _Exchange(scope, receive, send, self.max_body_bytes)
        try:
            exchange.refuse_large_body()
            await self.app(scope, exchange.receive, exchange.send)
        except ClientDisconnect:
            return  # nobody is left to answer
        except Exception as error:  # whatever it is, the client gets an answer and no stack trace
            if not isinstance(error, BodyTooLargeError):
                log.exception("request %s failed", exchange.request_id)
            if exchange.started:
                raise
            await problem_response(scope, error)(scope, receive, exchange.send)


class _Exchange:
    """One request and its answer, counted and marked with the request's id."""

    def __init__(self, scope: Scope, receive: Receive, send: Send, most_bytes: int) -> None:
        self.request_id = request_id(scope)
        self._declared_bytes = _declared_bytes(scope)
        self.started = False
        self._receive, self._send = receive, send
        self._most_bytes, self._bytes_in = most_bytes, 0

    def refuse_large_body(self) -> None:
        if self._declared_bytes > self._most_bytes:
            raise BodyTooLargeError(self._most_bytes)

    async def receive(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._bytes_in += len(message.get("body", b""))
            if self._bytes_in > self._most_bytes:
                raise BodyTooLargeError(self._most_bytes)
        return message

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            message["headers"] = [*message.get("headers", ()), (b"x-request-id", self.request_id.encode())]
        await self._send(message)


def _without_body(send: Send) -> Send:
    async def send_head(message: Message) -> None:
        if message["type"] == "http.response.body":
            message = {**message, "body": b""}
        await send(message)

    return send_head


def _declared_bytes(scope: Scope) -> int:
    for name, value in scope["headers"]:
        if name == b"content-length" and value.isdigit():
            return int(value)
    return 0
