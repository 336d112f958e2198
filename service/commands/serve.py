"""``serve``: answering requests, in one process or in several that share an address."""

from __future__ import annotations

import argparse
import errno
import os
import signal
import socket
import sys
import tempfile
import threading
import time
from contextlib import suppress
from types import FrameType
from typing import Any

import uvicorn
from fastapi import FastAPI
from sqlalchemy.engine import make_url
from uvicorn.config import STARTUP_FAILURE
from uvicorn.supervisors import Multiprocess

from service import __version__
from service.api.wire import ProblemProtocol
from service.app import create_app
from service.logs import log_config
from service.metrics import FOLDER_VARIABLE
from service.process_pool import spare_cores
from service.settings import PREFIX, Settings, StartRefusedError, read_settings
from service.worker_process import leave_what_lasts, settle_down

SECONDS_TO_START, SECONDS_TO_FINISH = 60, 10
"""How long a worker may take to be ready, and how long requests under way may take to end when told to stop."""
SECONDS_BETWEEN_LOOKS = 1
MOST_WORKERS = 64


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser("serve", help="answer requests (the default)")
    add_options(parser)


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of serving, which may also stand without the word: it is what is done where no command is given."""
    parser.add_argument(
        "--workers",
        type=_workers,
        default=argparse.SUPPRESS,
        metavar="N",
        help="processes that answer; more than one needs PostgreSQL",
    )
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    workers: int = getattr(given, "workers", 1)
    if workers > 1 and make_url(settings.database_url).get_backend_name() == "sqlite":
        raise StartRefusedError(
            f"--workers {workers} needs a PostgreSQL database, named by {PREFIX}DATABASE_URL: an SQLite file belongs "
            "to one process."
        )
    try:
        with _listen(settings) as listener:
            status = _serve_alone(settings, listener) if workers == 1 else _serve_together(settings, listener, workers)
    except KeyboardInterrupt:  # before it answered
        status = 0
    print("coilgap: stopped.", file=sys.stderr)
    return status


def _serve_alone(settings: Settings, listener: socket.socket) -> int:
    app = _app_to_serve(settings)
    leave_what_lasts()
    _AnnouncingServer(_config(settings, app)).run(sockets=[listener])
    return 0


def _serve_together(settings: Settings, listener: socket.socket, workers: int) -> int:
    create_app(settings).state.service.close()  # whatever is in the way is told once, and not by each worker
    with tempfile.TemporaryDirectory(prefix="coilgap-") as counted:
        os.environ.setdefault(FOLDER_VARIABLE, counted)
        if settings.batch_processes is None:  # no worker knows how many others there are
            os.environ[f"{PREFIX}BATCH_PROCESSES"] = str(spare_cores(workers))
        config = _config(settings, "service.commands.serve:worker_app", factory=True, workers=workers)
        supervisor = _AnnouncingSupervisor(config, [listener])
        supervisor.run()
    return 1 if any(process.exitcode == STARTUP_FAILURE for process in supervisor.processes) else 0


def worker_app() -> FastAPI:
    """The application of one of several processes, each of which reads the settings for itself."""
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    settle_down()
    try:
        app = _app_to_serve(read_settings(os.environ))
    except StartRefusedError as error:  # the database has gone since; the supervisor tries again
        print(f"coilgap: {error}", file=sys.stderr)
        sys.exit(1)
    leave_what_lasts()
    return app


def _app_to_serve(settings: Settings) -> FastAPI:
    """The application as it meets the world: without keys, browsers must not reach it by names of others."""
    app = create_app(settings)
    app.state.admission.only_at_home = not settings.needs_keys
    return app


def _end_with(supervisor: int) -> None:
    """Stop when the supervisor is gone, however it went: nobody else would, and the address would stay taken."""
    while os.getppid() == supervisor:
        time.sleep(SECONDS_BETWEEN_LOOKS)
    os.kill(os.getpid(), signal.SIGTERM)


def _config(settings: Settings, app: FastAPI | str, **options: Any) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        log_config=log_config(settings.log_level, access_log=settings.access_log),
        access_log=False,  # ours tells more and costs less
        server_header=False,
        http=ProblemProtocol,
        lifespan="on",
        ws="none",  # there is nothing to upgrade to: whoever asks for it is answered as anybody
        timeout_graceful_shutdown=SECONDS_TO_FINISH,
        **options,
    )


class _AnnouncingServer(uvicorn.Server):
    """Says where it can be reached, once it can be."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        _announce(sockets or [], "")

    def handle_exit(self, _sig: int, _frame: FrameType | None) -> None:
        """Ctrl-C is the usual way to end: a second one ends the requests under way as the end of their time would."""
        if self.should_exit:
            for task in self.server_state.tasks:
                task.cancel()
        self.should_exit = True


class _AnnouncingSupervisor(Multiprocess):
    """Starts a worker anew when it dies; says where they can be reached, once they can be."""

    def init_processes(self) -> None:
        super().init_processes()
        if all(process.wait_until_ready(SECONDS_TO_START) for process in self.processes):
            _announce(self.sockets, f" with {len(self.processes)} workers")


def _announce(listeners: list[socket.socket], by: str) -> None:
    for listener in listeners:
        host, port = listener.getsockname()[:2]
        shown = f"[{host}]" if ":" in host else host
        with suppress(OSError):  # it serves also where nobody can read so
            print(
                f"coilgap {__version__} serves http://{shown}:{port}{by} (operations: /docs; stop: Ctrl-C)", flush=True
            )


def _listen(settings: Settings) -> socket.socket:
    try:
        family = socket.getaddrinfo(settings.host, settings.port, type=socket.SOCK_STREAM)[0][0]
        listener = socket.socket(family, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((settings.host, settings.port))
        listener.listen()  # or another one could still take the port
    except OSError as error:
        unknown = isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL
        raise StartRefusedError(
            f"Cannot listen on {settings.host}, port {settings.port}: {error.strerror or error}. "
            f"Choose another {'address' if unknown else 'port'} with {PREFIX}{'HOST' if unknown else 'PORT'}."
        ) from None
    return listener


def _workers(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_WORKERS:
        raise argparse.ArgumentTypeError(f"expected a whole number from 1 to {MOST_WORKERS}")
    return int(text)
