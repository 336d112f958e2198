"""``replay``: whether records come out the same once more."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from service.catalogue.references import References
from service.catalogue.upgrade import existing_database
from service.database import in_utc
from service.engine import ENGINE_VERSION
from service.judging.replay import Replayed, replay
from service.ledger.kept import KeptRecord, kept_record, kept_since
from service.ledger.records import UnknownRecordError
from service.settings import Settings


def add(commands: Any) -> None:
    parser: argparse.ArgumentParser = commands.add_parser(
        "replay",
        help="judge recorded requests once more and list what comes out otherwise",
        description="Judges recorded requests once more, against the revisions that they were decided from. Exit "
        "status 1 if a record comes out otherwise than it was answered.",
    )
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("id", nargs="?", help="one record")
    which.add_argument(
        "--since", type=_time, metavar="DATE", help="all records from a day or an RFC 3339 time on (UTC)"
    )
    parser.set_defaults(run=run)


def run(settings: Settings, given: argparse.Namespace) -> int:
    count = differing = 0
    with _opened(settings) as (references, connection):
        try:
            for record in _wanted(connection, given):
                outcome = replay(references, record)
                count += 1
                differing += not outcome.same
                for line in _told(outcome):
                    print(line)
        except UnknownRecordError as error:
            print(f"coilgap: {error}", file=sys.stderr)
            return 1
    print(f"coilgap: {count:,} replayed by engine {ENGINE_VERSION}: {count - differing:,} the same, {differing:,} not.")
    return 1 if differing else 0


@contextmanager
def _opened(settings: Settings) -> Iterator[tuple[References, Connection]]:
    with (
        closing(existing_database(settings.database_url)) as database,
        database.snapshot() as connection,
        closing(References(database)) as references,
    ):
        yield references, connection


def _wanted(connection: Connection, given: argparse.Namespace) -> Iterator[KeptRecord]:
    if given.since is None:
        yield kept_record(connection, given.id)
    else:
        yield from kept_since(connection, given.since)


def _told(outcome: Replayed) -> Iterator[str]:
    """Nothing of a record that came out the same."""
    if outcome.same:
        return
    yield f"{outcome.record_id} (recorded by engine {outcome.engine_then}):"
    if outcome.refused is not None:
        yield f"  cannot be judged any more: {outcome.refused}"
    for each in outcome.differences:
        yield f"  {each.pointer}: was {each.was}, is {each.now}"


def _time(text: str) -> str:
    try:
        return in_utc(datetime.fromisoformat(text))
    except ValueError:
        raise argparse.ArgumentTypeError("expected a day such as 2026-01-31 or a time by RFC 3339") from None
