"""The catalogue as files: what importing them gives back, byte for byte the same each time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection

from service.api.interchange.columns import PART_MODELS
from service.api.interchange.csv_rows import write_csv
from service.api.interchange.json_lines import write_json_lines
from service.catalogue.bulk import whole_shelf
from service.catalogue.revisions import AXLES, PARTS, VEHICLES

Body = dict[str, Any]


def vehicles(connection: Connection) -> list[Body]:
    return [stored.body for stored in whole_shelf(connection, VEHICLES)]


def axles(connection: Connection) -> list[Body]:
    return [
        {**stored.body, "vehicle": stored.key[0], "end": stored.key[1]} for stored in whole_shelf(connection, AXLES)
    ]


def parts(connection: Connection, kind: str | None = None) -> list[Body]:
    """The parts of one kind, or of all."""
    return [stored.body for stored in whole_shelf(connection, PARTS, kind=kind)]


def json_lines(connection: Connection, kind: str | None = None) -> bytes:
    """Everything in one file, or the parts of one kind."""
    others = [] if kind else [*vehicles(connection), *axles(connection)]
    return write_json_lines([*others, *parts(connection, kind)])


def csv_file(connection: Connection, kind: str) -> bytes:
    """The parts of one kind."""
    return write_csv(kind, parts(connection, kind))


def folder(connection: Connection) -> Iterator[tuple[str, bytes]]:
    """Name and content of each file of the whole catalogue; that of a kind without parts shows its columns."""
    yield "vehicles.jsonl", write_json_lines(vehicles(connection))
    yield "axles.jsonl", write_json_lines(axles(connection))
    for kind in PART_MODELS:
        yield f"{kind}.csv", csv_file(connection, kind)
