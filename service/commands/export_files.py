"""``export``: write the catalogue into files that ``import`` takes."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from service.api.interchange import unload
from service.api.interchange.columns import PART_MODELS
from service.catalogue.upgrade import existing_database
from service.commands.arguments import named_path
from service.database import Database
from service.settings import Settings, StartRefusedError


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser(
        "export",
        help="write the catalogue into CSV and JSON Lines files",
        description="Writes what the catalogue holds now, withdrawn things too, in the form that import takes. "
        "The same catalogue gives the same bytes.",
    )
    parser.add_argument(
        "target",
        type=named_path,
        metavar="TARGET",
        help="a folder, for one CSV file a part kind beside vehicles.jsonl and axles.jsonl; a .jsonl file, for "
        "everything in one; or a .csv file, for the parts of one kind",
    )
    parser.add_argument("--kind", choices=PART_MODELS, metavar="KIND", help="the parts of this kind alone")
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    database = existing_database(settings.database_url)
    try:
        contents = _contents(database, given.target, given.kind)
    finally:
        database.close()
    for path, content in contents:
        _write(path, content)
        print(f"coilgap: wrote {path}.")
    return 0


def _contents(database: Database, target: Path, kind: str | None) -> list[tuple[Path, bytes]]:
    with database.snapshot() as connection:
        if target.suffix == ".jsonl":
            return [(target, unload.json_lines(connection, kind))]
        if target.suffix == ".csv":
            return [(target, unload.csv_file(connection, _kind(target, kind)))]
        if kind:
            return [(target / f"{kind}.csv", unload.csv_file(connection, kind))]
        return [(target / name, content) for name, content in unload.folder(connection)]


def _kind(target: Path, kind: str | None) -> str:
    found = kind or target.stem
    if found not in PART_MODELS:
        raise StartRefusedError(f"Say the kind of the parts for {target}: --kind {'|'.join(PART_MODELS)}.")
    return found


def _write(path: Path, content: bytes) -> None:
    """A reader finds the file as it was or as it will be, never half of it."""
    partial = path.with_name(f".{path.name}.partial")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        partial.write_bytes(content)
        partial.replace(path)
    except OSError as error:
        raise StartRefusedError(f"{path} cannot be written: {error.strerror or error}.") from None
