"""What both clients are set up with."""

from __future__ import annotations

import re
from typing import Any

import httpx

from service import __version__
from service.client.calls import Call
from service.client.problems import CoilgapError, UnexpectedAnswerError, UnreachableError

TIMEOUT_S = 30.0
LAST_PORT = 65_535
KEY = re.compile("[!-~]+")


def arguments(address: str, key: str | None, timeout_s: float) -> dict[str, Any]:
    """The arguments of an httpx client. Raises ``ValueError`` where there can be no such address or key."""
    headers = {"User-Agent": f"coilgap-client/{__version__}"}
    if key is not None:
        if not KEY.fullmatch(key):
            raise ValueError("key: expected one as it was issued, without blanks and ends of lines")
        headers["Authorization"] = f"Bearer {key}"
    return {"base_url": _url(address), "headers": headers, "timeout": timeout_s}


def failure(call: Call[object], error: httpx.RequestError) -> CoilgapError:
    """What a request came to that has no answer, or none that can be read."""
    sent, why = f"{call.method} {call.path}", f"({error or type(error).__name__})"
    if isinstance(error, httpx.TransportError):
        return UnreachableError(f"{sent}: no answer {why}")
    return UnexpectedAnswerError(f"{sent}: no answer that can be read {why}")


def _url(address: str) -> httpx.URL:
    try:
        url = httpx.URL(address)
    except httpx.InvalidURL as error:
        raise ValueError(f"address {address!r}: {error}") from None
    if url.scheme not in ("http", "https") or not url.host or (url.port or 0) > LAST_PORT:
        raise ValueError(f"address {address!r}: expected one such as http://127.0.0.1:8000")
    return url
