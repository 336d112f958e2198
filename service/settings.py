"""How one process of the service is set up: read once from ``COILGAP_…``, refused where it makes no sense."""

from __future__ import annotations

import ipaddress
import re
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
    database_pool: int = 10
    database_timeout_s: int = 10
    max_body_bytes: int = 1_048_576
    max_import_bytes: int = 67_108_864
    demo: bool = True
    keys: str = "auto"
    batch_processes: int | None = None
    rate_limit: str = "60000/minute"
    rate_limit_without_key: str = "600000/minute"
    rate_limit_store: str = "memory://"
    cors_origins: tuple[str, ...] = ()
    log_level: str = "warning"
    access_log: bool = False

    @property
    def needs_keys(self) -> bool:
        """Whether a request must bring a key: always, but on an address that only this machine reaches."""
        return self.keys == "required" or not is_loopback(self.host)


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
    return replace(Settings(), **read)


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
        stated = " (not shown: it may hold a password)" if "@" in text else f"={text!r}"
        raise StartRefusedError(f"{name}{stated}: {error}") from None


def _boolean(text: str) -> bool:
    if text.lower() not in ("true", "false"):
        raise ValueError("say true or false.")
    return text.lower() == "true"


def _port(text: str) -> int:
    return _whole(text, 0, 65_535)


def _bytes(text: str) -> int:
    return _whole(text, 1024, 1_073_741_824)


def _connections(text: str) -> int:
    return _whole(text, 2, 1000)


def _seconds(text: str) -> int:
    return _whole(text, 1, 600)


def _whole(text: str, least: int, most: int) -> int:
    if not text.isascii() or not text.isdigit() or not least <= int(text) <= most:
        raise ValueError(f"expected a whole number from {least} to {most}.")
    return int(text)


def _processes(text: str) -> int | None:
    """How many, or None for as many as there are cores for."""
    if text.lower() == "auto":
        return None
    try:
        return _whole(text, 0, 64)
    except ValueError:
        raise ValueError("say auto (as there are cores for), or a whole number from 0 to 64.") from None


def _host(text: str) -> str:
    if not text or any(sign.isspace() or sign == "/" for sign in text):
        raise ValueError("expected an address such as 127.0.0.1.")
    return text


def _keys(text: str) -> str:
    if text.lower() not in ("auto", "required"):
        raise ValueError("say auto (needed on every address but loopback) or required.")
    return text.lower()


def _rate(text: str) -> str:
    if not re.fullmatch(r"off|[1-9][0-9]{0,8}/(second|minute|hour|day)", text.lower()):
        raise ValueError("expected a rate such as 600/minute (second, minute, hour or day), or off.")
    return text.lower()


def _rate_store(text: str) -> str:
    if text != "memory://" and not re.match(r"rediss?://[^/]", text):
        raise ValueError("expected memory:// or an address such as redis://host:6379.")
    return text


def _origins(text: str) -> tuple[str, ...]:
    origins = tuple(origin.strip() for origin in text.split(",") if origin.strip())
    for origin in origins:
        if origin != "*" and not re.fullmatch(r"https?://[^/\s*]+", origin):
            raise ValueError("expected origins such as https://shop.example, with commas between them, or *.")
    return origins


def _log_level(text: str) -> str:
    if text.lower() not in LOG_LEVELS:
        raise ValueError(f"expected one of {', '.join(LOG_LEVELS)}.")
    return text.lower()


def _database_url(text: str) -> str:
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise ValueError(
            "expected an address such as sqlite:///coilgap.sqlite3 or postgresql://user@host/name."
        ) from None
    backend = url.get_backend_name()
    if backend not in ("sqlite", "postgresql", "postgres"):
        raise ValueError("the databases known here are SQLite and PostgreSQL.")
    if backend == "sqlite" and url.drivername not in ("sqlite", "sqlite+pysqlite"):
        raise ValueError("SQLite is read with Python's own driver alone: say sqlite:///coilgap.sqlite3.")
    if backend == "sqlite" and url.database in (None, "", ":memory:"):
        raise ValueError("a database in memory would lose every record: name a file.")
    return text


_READERS: dict[str, Callable[[str], Any]] = {
    "host": _host,
    "port": _port,
    "database_url": _database_url,
    "database_pool": _connections,
    "database_timeout_s": _seconds,
    "max_body_bytes": _bytes,
    "max_import_bytes": _bytes,
    "demo": _boolean,
    "keys": _keys,
    "batch_processes": _processes,
    "rate_limit": _rate,
    "rate_limit_without_key": _rate,
    "rate_limit_store": _rate_store,
    "cors_origins": _origins,
    "log_level": _log_level,
    "access_log": _boolean,
}
