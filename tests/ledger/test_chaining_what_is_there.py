"""The migration that chains the records of before: none is changed, all of them are in the chain, and back again."""

import hashlib
from contextlib import closing

import orjson
import pytest
from alembic import command
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from service.catalogue.upgrade import migrate, migration_config
from service.database import Database
from service.ledger.kept import kept_record
from service.ledger.verification import verify

BEFORE = "0001"
COLUMNS = (
    "id", "evaluated_at", "vehicle", "axle", "verdict", "action", "headline", "engine_version", "policy",
    "policy_version", "request", "request_sha256", "body",
)  # fmt: skip
ASKED = '{"axle":{"end":"front","vehicle":"Sållow"}}'
DIGEST = hashlib.sha256(ASKED.encode()).hexdigest()
RECORDS = 1201  # more than are chained at a time


def record(number):
    provenance = {"vehicle_revision": 3, "axle_revision": number, "part_revisions": {"Z-1": 1, "A-1": 2}}
    body = orjson.dumps({"id": f"r{number:05}", "provenance": provenance})
    values = (
        f"r{number:05}", "2026-01-01T00:00:00Z", None if number % 2 else "v", "front", "clear", "sell",
        f'“Fits” \\ "{number}"\n\x1f', "1", "standard", 1, ASKED, DIGEST, body,
    )  # fmt: skip
    return dict(zip(COLUMNS, values, strict=True))


@pytest.fixture
def url(empty_url):
    """A database of before, with records, written in another order than that of their ids."""
    command.upgrade(migration_config(empty_url), BEFORE)
    insert = f"INSERT INTO evaluation ({', '.join(COLUMNS)}) VALUES (:{', :'.join(COLUMNS)})"  # noqa: S608
    with closing(Database(empty_url)) as database, database.writing() as connection:
        connection.execute(text(insert), [record(number) for number in reversed(range(RECORDS))])
        connection.execute(text("INSERT INTO evaluation_sku VALUES ('r00007', 'Z-1'), ('r00007', 'A-1')"))
    return empty_url


def everything(database):
    with database.reading() as connection:
        rows = connection.execute(text("SELECT * FROM evaluation ORDER BY id")).mappings()
        return [{name: row[name] for name in COLUMNS} for row in rows]


def test_what_is_there_is_chained_in_the_order_of_time(url):
    migrate(url)
    with closing(Database(url)) as database, database.snapshot() as connection:
        assert everything(database) == [record(number) for number in range(RECORDS)]
        verified = verify(connection)
        places = connection.execute(text("SELECT id, place FROM evaluation ORDER BY place")).all()
        kept = kept_record(connection, "r00007")
    assert places == [(f"r{number:05}", number + 1) for number in range(RECORDS)]
    assert kept.revisions == {"vehicle": 3, "axle": 7, "parts": {"A-1": 2, "Z-1": 1}}
    assert (verified.records, verified.flaws) == (RECORDS, ())


def test_there_and_back_keeps_the_records_and_their_protection(url):
    migrate(url)
    command.downgrade(migration_config(url), BEFORE)
    with closing(Database(url)) as database:
        assert everything(database) == [record(number) for number in range(RECORDS)]
        refused = text("UPDATE evaluation SET headline = ''")
        with pytest.raises(DatabaseError, match="written once"), database.writing() as connection:
            connection.execute(refused)
    migrate(url)
    with closing(Database(url)) as database, database.snapshot() as connection:
        assert verify(connection).flaws == ()
