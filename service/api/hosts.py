"""By which names a service that asks for no key may be reached.

A page on the net can have a name of its own lead to this machine; the browser then takes the service for a part of that
page. All that gives it away is the name: a number cannot be led elsewhere, and ``localhost`` stays at home.
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from starlette.types import Scope


class HostUnknownError(Exception):
    """The request came by a name that is not this machine's own."""


def refuse_other_names(scope: Scope) -> None:
    """Raises ``HostUnknownError``. What states no name at all is no browser."""
    host = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"host"), "")
    if host and not is_this_machine(host):
        raise HostUnknownError(f"This service was asked for under the name {host[:255]}.")


def is_this_machine(host: str) -> bool:
    """Whether a ``Host`` header names this machine in a way that nobody else can make true.

    >>> is_this_machine("localhost:8000"), is_this_machine("[::1]"), is_this_machine("shop.example:8000")
    (True, True, False)
    """
    try:
        name = urlsplit(f"//{host}").hostname or ""
        return name == "localhost" or name.endswith(".localhost") or bool(ipaddress.ip_address(name))
    except ValueError:
        return False
