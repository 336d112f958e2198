"""How one process of the service is set up: read once from ``COILGAP_…``, refused where it makes no sense."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

PREFIX = "COILGAP_"
LOG_LEVELS = ("critical", "error", "warning", "info", "debug")


class StartRefusedError(Exception):
    """The service cannot start as it is set up; the message is one line for the person who starts it."""


@dataclass(frozen=True, slots=True)
class Settings:
    """One field for each variable: ``host`` is ``COILGAP_HOST``, and so on."""

    host: str = "127.0.0.1"
    port: int = 8000
    database_url: str = "sqlite:///coilgap.sqlite3"
    max_body_bytes: int = 1_048_576
    demo: bool = True
    trust_network: bool = False
    log_level: str = "warning"
    access_log: bool = False


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings that the environment states, or ``StartRefusedError`` naming the variable that is wrong.

    >>> read_settings({"COILGAP_PORT": "8123"}).port
    8123
    """
    known = {PREFIX + field.name.upper(): field.name for field in fields(Settings)}
    stated = {name: value for name, value in environment.items() if name.startswith(PREFIX)}
    for name in stated:
        if name not in known:
            raise StartRefusedError(f"{name} is no setting of this service. Settings: {', '.join(sorted(known))}.")
    read = {known[name]: _read(name, known[name], value) for name, value in stated.items()}
    return checked(replace(Settings(), **read))


def checked(settings: Settings) -> Settings:
    """The same settings, or ``StartRefusedError`` where they would be unsafe."""
    if not is_loopback(settings.host) and not settings.trust_network:
        raise StartRefusedError(
            f"{PREFIX}HOST={settings.host} can be reached from other machines, and this service has no keys that tell "
            f"callers apart: keep to 127.0.0.1, or set {PREFIX}TRUST_NETWORK=true if a proxy in front keeps "
            "strangers out."
        )
    return settings


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _read(name: str, field: str, text: str) -> Any:
    try:
        return _READERS[field](text.strip())
    except ValueError as error:
        raise StartRefusedError(f"{name}={text!r}: {error}") from None


def _boolean(text: str) -> bool:
    if text.lower() not in ("true", "false"):
        raise ValueError("say true or false.")
    return text.lower() == "true"


def _port(text: str) -> int:
    return _whole(text, 0, 65_535)


def _bytes(text: str) -> int:
    return _whole(text, 1024, 1_073_741_824)


def _whole(text: str, least: int, most: int) -> int:
    if not text.isascii() or not text.isdigit() or not least <= int(text) <= most:
        raise ValueError(f"expected a whole number from {least} to {most}.")
    return int(text)


def _host(text: str) -> str:
    if not text or any(sign.isspace() or sign == "/" for sign in text):
        raise ValueError("expected an address such as 127.0.0.1.")
    return text


def _log_level(text: str) -> str:
    if text.lower() not in LOG_LEVELS:
        raise ValueError(f"expected one of {', '.join(LOG_LEVELS)}.")
    return text.lower()


def _database_url(text: str) -> str:
    try:
        url = make_url(text)
    except ArgumentError:
        raise ValueError(
            "expected an address such as sqlite:///coilgap.sqlite3 or postgresql://user@host/name."
        ) from None
    backend = url.get_backend_name()
    if backend not in ("sqlite", "postgresql", "postgres"):
        raise ValueError("the databases known here are SQLite and PostgreSQL.")
    if backend == "sqlite" and url.database in (None, "", ":memory:"):
        raise ValueError("a database in memory would lose every record: name a file.")
    return text


_READERS: dict[str, Callable[[str], Any]] = {
    "host": _host,
    "port": _port,
    "database_url": _database_url,
    "max_body_bytes": _bytes,
    "demo": _boolean,
    "trust_network": _boolean,
    "log_level": _log_level,
    "access_log": _boolean,
}
