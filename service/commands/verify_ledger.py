"""``verify-ledger``: whether the chain of records is whole."""

from __future__ import annotations

import argparse
import re
from contextlib import closing
from typing import Any

from service.catalogue.upgrade import existing_database
from service.ledger.chain import Head
from service.ledger.verification import verify
from service.settings import Settings

MOST_SHOWN = 100


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser(
        "verify-ledger",
        help="find records that were altered, removed or put in",
        description="Walks the chain of verdict records and lists every record that was altered, is missing or was "
        "put in. Ends with the head of the chain: note it down elsewhere. Exit status 1 if anything is wrong. "
        "Revisions of the catalogue are not in the chain: replay finds altered ones.",
    )
    parser.add_argument(
        "--head",
        type=_head,
        metavar="PLACE:SHA256",
        help="a head that an earlier run printed: finds also a ledger that was cut off, or made anew in part",
    )
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    with closing(existing_database(settings.database_url)) as database, database.snapshot() as connection:
        verified = verify(connection, given.head)
    for flaw in verified.flaws[:MOST_SHOWN]:
        print(flaw)
    if verified.flaws:
        flaws = "1 flaw" if len(verified.flaws) == 1 else f"{len(verified.flaws):,} flaws"
        print(f"coilgap: {verified.records:,} records, {flaws} in the chain.")
        return 1
    print(f"coilgap: {verified.records:,} records, the chain is whole. Its head, to be noted down elsewhere:")
    print(verified.end)
    return 0


def _head(text: str) -> Head:
    if not re.fullmatch(r"\d{1,18}:[0-9a-f]{64}", text):
        raise argparse.ArgumentTypeError("expected what an earlier run printed, such as 120:9f86…")
    place, sha256 = text.split(":")
    return Head(int(place), sha256)
