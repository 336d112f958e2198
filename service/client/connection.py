"""What both clients are set up with."""

from __future__ import annotations

from typing import Any

import httpx

from service import __version__
from service.client.calls import Call
from service.client.problems import UnreachableError

TIMEOUT_S = 30.0


def arguments(address: str, key: str | None, timeout_s: float) -> dict[str, Any]:
    """The arguments of an httpx client."""
    headers = {"User-Agent": f"coilgap-client/{__version__}"}
    if key is not None:
        headers["Authorization"] = f"Bearer {key}"
    return {"base_url": address, "headers": headers, "timeout": timeout_s}


def unreachable(call: Call[object], error: httpx.TransportError) -> UnreachableError:
    return UnreachableError(f"{call.method} {call.path}: no answer ({error or type(error).__name__})")
