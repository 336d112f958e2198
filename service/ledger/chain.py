"""The chain through the ledger: each record states its place, the digest of the record before it, and its own digest.

A digest is SHA-256 over the record's facts as canonical JSON by RFC 8785. The last place and digest stand in a row of
their own, the head. Whoever appends holds that row until the commit: there is one chain, however many processes write.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import Connection

# Straight to the driver: this is asked at every commit, and building the statements would take longer than they do. An
# embedded database needs no lock, since its writers take turns anyway.
HOLD = {
    "sqlite": "SELECT place, sha256 FROM ledger_head",
    "postgresql": "SELECT place, sha256 FROM ledger_head FOR UPDATE",
}
MOVE = {
    "sqlite": "UPDATE ledger_head SET place = ?, sha256 = ?",
    "postgresql": "UPDATE ledger_head SET place = %s, sha256 = %s",
}
ORIGIN = "0" * 64
"""What the first record states as the digest before it."""

STATED = (
    "place", "prev_sha256", "id", "evaluated_at", "vehicle", "axle", "verdict", "action", "headline", "engine_version",
    "policy", "policy_version", "revisions",
)  # fmt: skip
"""The columns that are facts as they stand; of request and body the digests are, and the parts belong to them."""


class HeadMissingError(RuntimeError):
    """The ledger has lost its head row, so nothing can be appended: somebody has been at the database."""


@dataclass(frozen=True, slots=True)
class Head:
    """The last record of a chain: its place, counted from 1, and its digest."""

    place: int
    sha256: str

    def __str__(self) -> str:
        return f"{self.place}:{self.sha256}"


def facts(row: Mapping[str, Any], skus: Iterable[str]) -> dict[str, Any]:
    """What the digest of a record is taken over: flat, with texts and whole numbers only."""
    return {
        **{name: row[name] for name in STATED},
        "skus": sorted(skus),
        "request_sha256": hashlib.sha256(row["request"].encode()).hexdigest(),
        "body_sha256": hashlib.sha256(row["body"]).hexdigest(),
    }


def chained(
    head: Head, entries: Sequence[tuple[Mapping[str, Any], Sequence[str]]]
) -> tuple[list[dict[str, Any]], Head]:
    """The rows of some records, with their parts, as the next ones of the chain; and the head that they make."""
    rows = []
    for entry, skus in entries:
        row = {**entry, "place": head.place + 1, "prev_sha256": head.sha256}
        # For facts of this sort sorted keys are RFC 8785's spelling, at a fiftieth of the time; verifying uses the
        # standard's own library, so that a difference could not stay unseen.
        spelt = orjson.dumps(facts(row, skus), option=orjson.OPT_SORT_KEYS)
        head = Head(row["place"], hashlib.sha256(spelt).hexdigest())
        rows.append({**row, "sha256": head.sha256})
    return rows, head


def held_head(connection: Connection) -> Head:
    """The head, held against every other writer until the transaction ends. Raises ``HeadMissingError``."""
    row = connection.exec_driver_sql(HOLD[connection.dialect.name]).first()
    if row is None:
        raise HeadMissingError("The ledger has lost its head: nothing can be appended. Run verify-ledger.")
    return Head(*row)


def move_head(connection: Connection, head: Head) -> None:
    connection.exec_driver_sql(MOVE[connection.dialect.name], (head.place, head.sha256))
