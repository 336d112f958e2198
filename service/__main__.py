"""The command line: serve (the default) and migrate."""

from __future__ import annotations

import argparse
import os
import socket
import sys
from typing import NoReturn

import uvicorn
from sqlalchemy.exc import SQLAlchemyError

from service import __version__
from service.app import create_app
from service.catalogue.upgrade import migrate, newest_revision
from service.settings import PREFIX, Settings, StartRefusedError, read_settings

SECONDS_TO_FINISH = 10
"""How long requests under way may take to end when the service is told to stop."""


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m service",
        description="Decides whether a combination of suspension parts is mechanically safe on a vehicle axle.",
        epilog=f"Settings are read from the environment: {PREFIX}HOST, {PREFIX}PORT, {PREFIX}DATABASE_URL and so on.",
    )
    parser.add_argument("command", nargs="?", choices=("serve", "migrate"), default="serve")
    parser.add_argument("--version", action="version", version=__version__)
    command = parser.parse_args(arguments).command
    try:
        settings = read_settings(os.environ)
        return _migrate(settings) if command == "migrate" else _serve(settings)
    except StartRefusedError as error:
        print(f"coilgap: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("coilgap: stopped.", file=sys.stderr)
        return 0


def _migrate(settings: Settings) -> int:
    try:
        migrate(settings.database_url)
    except SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).strip().split("\n", maxsplit=1)[0]
        raise StartRefusedError(f"The database cannot be migrated: {reason}") from error
    print(f"coilgap: the database is at {newest_revision()}.")
    return 0


def _serve(settings: Settings) -> int:
    listener = _listen(settings)
    app = create_app(settings)
    config = uvicorn.Config(
        app,
        log_level=settings.log_level,
        access_log=settings.access_log,
        server_header=False,
        lifespan="on",
        timeout_graceful_shutdown=SECONDS_TO_FINISH,
    )
    _AnnouncingServer(config).run(sockets=[listener])
    return 0


class _AnnouncingServer(uvicorn.Server):
    """Says where it can be reached, once it can be."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        for listener in sockets or ():
            host, port = listener.getsockname()[:2]
            shown = f"[{host}]" if ":" in host else host
            print(f"coilgap {__version__} serves http://{shown}:{port} (operations: /docs; stop: Ctrl-C)", flush=True)


def _listen(settings: Settings) -> socket.socket:
    try:
        family = socket.getaddrinfo(settings.host, settings.port, type=socket.SOCK_STREAM)[0][0]
        listener = socket.socket(family, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((settings.host, settings.port))
    except OSError as error:
        raise StartRefusedError(
            f"Cannot listen on {settings.host}, port {settings.port}: {error.strerror or error}. "
            f"Choose another one with {PREFIX}PORT."
        ) from None
    return listener


def run() -> NoReturn:
    sys.exit(main())


if __name__ == "__main__":
    run()
