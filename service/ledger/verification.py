"""Verifying the chain: every record that was altered, is missing or was put in between shows.

What no chain can show from the inside is somebody who may do anything to the database and makes the whole chain anew
from some place on, the head included. A head noted down elsewhere shows that too.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import rfc8785
from sqlalchemy import Connection, bindparam, text

from service.ledger.chain import ORIGIN, STATED, Head, facts

Record = Any  # a row by names, with anything in its cells
AT_ONCE = 500
# Read without the types that the tables declare: an altered cell may hold anything, and must not stop the reading.
RECORDS = text(f"SELECT {', '.join(STATED)}, request, request_sha256, body, sha256 FROM evaluation ORDER BY place")  # noqa: S608 — names of ours
HEAD = text("SELECT place, sha256 FROM ledger_head")
SKUS = text("SELECT evaluation_id, sku FROM evaluation_sku WHERE evaluation_id IN :ids").bindparams(
    bindparam("ids", expanding=True)
)
STRAY_SKUS = text(
    "SELECT DISTINCT evaluation_id FROM evaluation_sku WHERE evaluation_id NOT IN (SELECT id FROM evaluation)"
)


@dataclass(frozen=True, slots=True)
class Verified:
    """How many records there are, the last of them as its row states it, and what is wrong, in the ledger's order."""

    records: int
    end: Head
    flaws: tuple[str, ...]


def verify(connection: Connection, noted: Head | None = None) -> Verified:
    """Walk the whole chain, and hold it against a head that was noted down earlier. Wants a connection that sees one
    moment of the database.
    """
    end, records, flaws = Head(0, ORIGIN), 0, []
    for row, skus in _records(connection):
        records += 1
        if type(row["place"]) is not int or row["place"] < 1:
            flaws.append(f"Record {row['id']} stands at no place of the chain ({row['place']!r}): it was put in.")
            continue
        flaws += _flaws_of(row, skus, end)
        end = Head(row["place"], str(row["sha256"]))
        if noted is not None and end.place == noted.place and end != noted:
            flaws.append(f"The record at place {end.place} is not the one that was noted down.")
    flaws += _flaws_at_the_end(connection, end, noted)
    return Verified(records, end, tuple(flaws))


def _records(connection: Connection) -> Iterator[tuple[Record, list[str]]]:
    found = connection.execute(RECORDS, execution_options={"yield_per": AT_ONCE})
    for rows in found.mappings().partitions(AT_ONCE):
        skus: dict[str, list[str]] = {}
        for record_id, sku in connection.execute(SKUS, {"ids": [row["id"] for row in rows]}):
            skus.setdefault(record_id, []).append(sku)
        yield from ((row, skus.get(row["id"], [])) for row in rows)


def _flaws_of(row: Record, skus: list[str], before: Head) -> Iterator[str]:
    place = row["place"]
    if place > before.place + 1:
        yield _missing(before.place + 1, place - 1)
    elif row["prev_sha256"] != before.sha256:
        yield f"The record at place {place} does not follow the one before it: one of the two was altered or put in."
    if not _is_as_digested(row, skus):
        yield f"Record {row['id']} at place {place} was altered."


def _is_as_digested(row: Record, skus: list[str]) -> bool:
    try:
        stated = facts(row, skus)
        digest = hashlib.sha256(rfc8785.dumps(stated)).hexdigest()
    except (AttributeError, TypeError, ValueError):  # a cell holds what the service never writes
        return False
    return bool(digest == row["sha256"] and stated["request_sha256"] == row["request_sha256"])


def _flaws_at_the_end(connection: Connection, end: Head, noted: Head | None) -> Iterator[str]:
    stated = connection.execute(HEAD).first()
    if stated is None:
        yield "The ledger has lost its head: nothing says where it should end."
    elif type(stated[0]) is not int:
        yield f"The head states no place ({stated[0]!r}): it was altered."
    elif stated[0] > end.place:
        yield _missing(end.place + 1, stated[0])
    elif stated[0] < end.place:
        yield f"The records after place {stated[0]} stand beyond the head: they were put in."
    elif stated[1] != end.sha256:
        yield f"The last record, at place {end.place}, is not the one that the head states: it was altered or replaced."
    if noted is not None and noted.place > end.place:
        yield f"The ledger was cut off: it ends at place {end.place}, and place {noted.place} was noted down."
    for record_id in connection.execute(STRAY_SKUS).scalars():
        yield f"Record {record_id} is missing: the table of its parts still names it."


def _missing(first: int, last: int) -> str:
    if first == last:
        return f"The record at place {first} is missing."
    return f"The records at places {first} to {last} are missing."
