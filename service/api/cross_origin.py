"""Pages of other origins: which ones may call from a browser, what they may send, and what they may read."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.datastructures import Headers
from starlette.middleware.cors import CORSMiddleware
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.api.problems import PreflightRefusedError, problem_response

METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE")
SENT = ("Authorization", "Content-Type", "Idempotency-Key", "If-Match", "If-None-Match", "Prefer", "X-Request-Id")
READ = (
    "ETag",
    "Link",
    "Location",
    "Preference-Applied",
    "RateLimit",
    "RateLimit-Policy",
    "Retry-After",
    "WWW-Authenticate",
    "X-Request-Id",
)


class CrossOrigin(CORSMiddleware):
    """The framework's own, but that what it refuses is told as a problem."""

    def preflight_response(self, request_headers: Headers) -> Response:
        answer = super().preflight_response(request_headers)
        return answer if answer.status_code < 400 else _Refusal(answer)


class _Refusal(Response):
    """In place of the framework's refusal, whose headers for the browser it keeps."""

    def __init__(self, plain: Response) -> None:
        super().__init__()
        told = {name: value for name, value in plain.headers.items() if not name.startswith("content-")}
        self.error = PreflightRefusedError(bytes(plain.body).decode(), told)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await problem_response(scope, self.error)(scope, receive, send)


def allow_origins(app: FastAPI, origins: tuple[str, ...]) -> None:
    """Answer preflights, and let pages of these origins read the answers. Cookies play no part: a key is a header."""
    app.add_middleware(
        CrossOrigin, allow_origins=origins, allow_methods=METHODS, allow_headers=SENT, expose_headers=READ
    )
