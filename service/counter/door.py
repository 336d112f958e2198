"""Who may use the counter: whoever may evaluate. A browser sends no key by itself, so the page keeps it in a cookie."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.api.scopes import KeyMissingError, KeyUnknownError, ScopeMissingError

COOKIE = "coilgap_key"
SHUT = (KeyMissingError, KeyUnknownError, ScopeMissingError)


class DoorShutError(Exception):
    """A request to the counter from somebody who may not evaluate; ``tried``: with a key."""

    def __init__(self, *, tried: bool) -> None:
        super().__init__("The counter needs a key that may evaluate.")
        self.tried = tried


async def door(request: Request) -> None:
    """Let a request in as the API would let in an evaluation, its rate limit included. Raises ``DoorShutError``."""
    await admit(request, request.cookies.get(COOKIE, ""))


async def admit(request: Request, key: str) -> None:
    asked: dict[str, Any] = {**request.scope, "method": "GET", "path": "/v1/evaluations"}
    if key:
        others = [pair for pair in request.scope["headers"] if pair[0] != b"authorization"]
        asked["headers"] = [*others, (b"authorization", b"Bearer " + key.encode("latin-1", "replace"))]
    try:
        await request.app.state.admission.admit(asked, [])
    except SHUT:
        raise DoorShutError(tried=bool(key)) from None


def came_from_here(request: Request) -> bool:
    """Whether a form was sent by a page of this service, as the browser says itself (Fetch Metadata)."""
    return request.headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")


def keep_key(response: Response, request: Request, key: str) -> None:
    """The browser brings the key along from now on, to the counter alone, and no script can read it."""
    secure = request.url.scheme == "https"
    response.set_cookie(COOKIE, key, path="/counter", httponly=True, samesite="strict", secure=secure)
