"""The command line: serve (the default), migrate, and the commands of ``service.commands``."""

from __future__ import annotations

import argparse
import os
import sys

from sqlalchemy.exc import SQLAlchemyError

from service import __version__
from service.catalogue.upgrade import migrate, newest_revision
from service.commands import export_files, import_files, keys, replay, serve, sweep, verify_ledger
from service.database import UNREACHABLE
from service.settings import PREFIX, Settings, StartRefusedError, read_settings
from service.worker_process import settle_down

COMMANDS = (serve.add, import_files.add, export_files.add, keys.add, verify_ledger.add, replay.add, sweep.add)
"""Each adds its command, with ``run(settings, given)``, which returns the exit status."""


def obey(arguments: list[str] | None) -> int:
    """Do what a command line says; the exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m service",
        description="Decides whether a combination of suspension parts is mechanically safe on a vehicle axle.",
        epilog=f"Settings are read from the environment: {PREFIX}HOST, {PREFIX}PORT, {PREFIX}DATABASE_URL and so on.",
    )
    parser.add_argument("--version", action="version", version=__version__)
    serve.add_options(parser)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    commands.add_parser("migrate", help="bring the database up to date").set_defaults(run=_migrate)
    for add in COMMANDS:
        add(commands)
    given = parser.parse_args(arguments)
    settle_down()
    try:
        return int(given.run(read_settings(os.environ), given))
    except StartRefusedError as error:
        print(f"coilgap: {error}", file=sys.stderr)
        return 1
    except UNREACHABLE as error:
        print(f"coilgap: The database cannot be reached: {_first_line(error)}", file=sys.stderr)
        return 1


def _migrate(settings: Settings, _given: argparse.Namespace) -> int:
    try:
        migrate(settings.database_url)
    except SQLAlchemyError as error:
        raise StartRefusedError(f"The database cannot be migrated: {_first_line(error)}") from error
    print(f"coilgap: the database is at {newest_revision()}.")
    return 0


def _first_line(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error).strip().split("\n", maxsplit=1)[0]
