"""``import``: bring files into the catalogue."""

from __future__ import annotations

import argparse
import signal
import sys
from pathlib import Path
from typing import Any

from rich.progress import Progress

from service.api.interchange.columns import PART_MODELS
from service.api.interchange.load import Loaded, Tell, load
from service.api.interchange.naming import ENDINGS, source_file
from service.api.interchange.rows import BadRowsError, SourceFile
from service.catalogue.upgrade import ready_database
from service.commands.arguments import named_path
from service.commands.progress import bars
from service.settings import Settings, StartRefusedError


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser(
        "import",
        help="bring CSV and JSON Lines files into the catalogue",
        description="Brings parts, vehicles and axles into the catalogue: all of them, or nothing where a single row "
        "is wrong. A row replaces what the catalogue has under its name. Exit status 1 if a row is wrong.",
    )
    parser.add_argument(
        "files", nargs="+", type=named_path, metavar="FILE", help="a .csv or .jsonl file, or a folder of them"
    )
    parser.add_argument("--kind", choices=PART_MODELS, metavar="KIND", help="of the parts in the CSV files")
    parser.add_argument("--dry-run", action="store_true", help="report every bad row and import nothing")
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    sources = [_source(path, given.kind) for path in _paths(given.files)]
    database = ready_database(settings.database_url)
    try:
        with bars() as progress:
            loaded = load(database, sources, dry_run=given.dry_run, tell=_teller(progress), along=_past_stopping)
    except KeyboardInterrupt:
        raise KeyboardInterrupt("stopped: nothing was imported") from None
    except BadRowsError as error:
        return _refused(error)
    finally:
        database.close()
    return _report(loaded, dry_run=given.dry_run)


def _paths(given: list[Path]) -> list[Path]:
    found = [path for each in given for path in _files(each)]
    if not found:
        raise StartRefusedError("There is no .csv and no .jsonl file to import.")
    return found


def _files(given: Path) -> list[Path]:
    """A file itself, or those in a folder that can be imported."""
    try:
        if not given.is_dir():
            return [given]
        return sorted(path for path in given.iterdir() if path.suffix.lower() in ENDINGS and not path.is_dir())
    except OSError as error:
        raise _unreadable(given, error) from None


def _source(path: Path, kind: str | None) -> SourceFile:
    try:
        return source_file(str(path), path.read_bytes(), kind=kind)
    except OSError as error:
        raise _unreadable(path, error) from None
    except ValueError as error:
        raise StartRefusedError(f"{path} {error}") from None


def _unreadable(path: Path, error: OSError) -> StartRefusedError:
    return StartRefusedError(f"{path} cannot be read: {error.strerror or error}.")


def _teller(progress: Progress) -> Tell:
    tasks: dict[str, Any] = {}

    def tell(step: str, more: int, total: int) -> None:
        if step not in tasks:
            tasks[step] = progress.add_task(step, total=total)
        progress.update(tasks[step], advance=more, total=total)

    return tell


def _past_stopping(*_: object) -> None:
    """From the commit on Ctrl-C is not heard: it would be told that nothing was imported."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _refused(error: BadRowsError) -> int:
    for fault in error.faults:
        print(fault, file=sys.stderr)
    print(f"coilgap: nothing was imported: {_counted(len(error.faults), 'fault')}.", file=sys.stderr)
    return 1


def _report(loaded: Loaded, *, dry_run: bool) -> int:
    for fault in loaded.faults:
        print(fault, file=sys.stderr)
    if loaded.faults:
        print(
            f"coilgap: {_counted(loaded.rows, 'row')}, {_counted(len(loaded.faults), 'fault')}; nothing was imported."
        )
        return 1
    tally = loaded.tally
    would = "would be " if dry_run else ""
    print(
        f"coilgap: {_counted(loaded.rows, 'row')}: {tally.created:,} {would}created, {tally.revised:,} {would}revised, "
        f"{tally.unchanged:,} unchanged{'; dry run, nothing was imported' if dry_run else ''}."
    )
    return 0


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
