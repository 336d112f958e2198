"""By which name a request came, and by which names a service that asks for no key may be reached.

A page on the net can have a name of its own lead to this machine; the browser then takes the service for a part of that
page. All that gives it away is the name: a number cannot be led elsewhere, and ``localhost`` stays at home.
"""

from __future__ import annotations

import ipaddress
import re
from urllib.parse import urlsplit

from starlette.types import Scope

HOST = re.compile(rb"[A-Za-z0-9._~!$&'()*+,;=%:\[\]-]*")
"""The signs that a name or number, with its port, can be made of (RFC 3986, section 3.2)."""


class HostMalformedError(Exception):
    """The request states no host, several, or what can be none."""

    def __init__(self) -> None:
        super().__init__("Send the header Host once, with the name or number that the service was asked for by.")


class HostUnknownError(Exception):
    """The request came by a name that is not this machine's own."""


def require_one_host(scope: Scope) -> None:
    """Raises ``HostMalformedError``. Who speaks HTTP/1.0 need not state any (RFC 9112, section 3.2)."""
    hosts = [value for name, value in scope["headers"] if name == b"host"]
    if len(hosts) != 1 and (hosts or scope["http_version"] != "1.0"):
        raise HostMalformedError
    if hosts and not HOST.fullmatch(hosts[0]):
        raise HostMalformedError


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
