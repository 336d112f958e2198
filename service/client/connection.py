"""What both clients are set up with."""

from __future__ import annotations

from typing import Any

import httpx

from service import __version__
from service.client.calls import Call
from service.client.problems import CoilgapError, UnexpectedAnswerError, UnreachableError

TIMEOUT_S = 30.0


def arguments(address: str, key: str | None, timeout_s: float) -> dict[str, Any]:
    """The arguments of an httpx client."""
    headers = {"User-Agent": f"coilgap-client/{__version__}"}
    if key is not None:
        headers["Authorization"] = f"Bearer {key}"
    return {"base_url": address, "headers": headers, "timeout": timeout_s}


def failure(call: Call[object], error: httpx.RequestError) -> CoilgapError:
    """What a request came to that has no answer, or none that can be read."""
    sent, why = f"{call.method} {call.path}", f"({error or type(error).__name__})"
    if isinstance(error, httpx.TransportError):
        return UnreachableError(f"{sent}: no answer {why}")
    return UnexpectedAnswerError(f"{sent}: no answer that can be read {why}")
