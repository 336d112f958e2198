"""What every request passes through: its id, the headers that every answer has, and its line in log and metrics."""

from __future__ import annotations

from time import perf_counter
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.logs import access
from service.metrics import count_request
from service.web import request_id

SECURITY_HEADERS = (
    (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'"),  # an answer with a page has its own
    (b"cache-control", b"private, no-cache"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
)
OVER_TLS = (b"strict-transport-security", b"max-age=31536000")
NO_ROUTE = "none"


class RequestFrame:
    """Pure ASGI: a wrapper of another kind would cost more than the rest of a request."""

    def __init__(self, app: ASGIApp, *, access_log: bool) -> None:
        self.app = app
        self.access_log = access_log

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        method = scope["method"]
        if method == "HEAD":  # is GET without the body
            scope = {**scope, "method": "GET"}
            send = _without_body(send)
        answer = _Answer(scope, send)
        scope.setdefault("state", {})["request_id"] = answer.request_id
        began = perf_counter()
        try:
            await self.app(scope, receive, answer.send)
        finally:
            seconds = perf_counter() - began
            route = getattr(scope.get("route"), "path_format", NO_ROUTE)
            count_request(method, route, answer.status, seconds)
            if self.access_log:
                access.info("request", extra={"facts": _facts(scope, answer, (method, route), seconds)})


class _Answer:
    """The answer on its way out. Its status is 499 as long as nothing was sent: the client has gone."""

    def __init__(self, scope: Scope, send: Send) -> None:
        self.request_id = request_id(scope)
        self.status = 499
        self._send = send
        self._added = [*SECURITY_HEADERS, (b"x-request-id", self.request_id.encode())]
        if scope["scheme"] == "https":
            self._added.append(OVER_TLS)

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            headers = list(message.get("headers", ()))
            stated = {name for name, _ in headers}
            message["headers"] = [*headers, *[pair for pair in self._added if pair[0] not in stated]]
        await self._send(message)


def _facts(scope: Scope, answer: _Answer, asked: tuple[str, str], seconds: float) -> dict[str, Any]:
    caller = scope["state"].get("caller")
    return {
        "request_id": answer.request_id,
        "method": asked[0],
        "route": asked[1],
        "status": answer.status,
        "duration_ms": round(seconds * 1000, 3),
        "caller": caller.key_id if caller else "",
    }


def _without_body(send: Send) -> Send:
    async def send_head(message: Message) -> None:
        if message["type"] == "http.response.body":
            message = {**message, "body": b""}
        await send(message)

    return send_head
