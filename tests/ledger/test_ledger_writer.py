"""The ledger's writer: durable before the answer, many in one commit, and no record lost without a word."""

import asyncio
import sqlite3

import pytest
from entries import entry
from sqlalchemy import event
from sqlalchemy.exc import IntegrityError, OperationalError

from service.ledger.records import RecordFilter, UnknownRecordError, record_body, records
from service.ledger.writer import LedgerWriter


@pytest.fixture
def writer(database):
    writer = LedgerWriter(database)
    yield writer
    writer.close()


def test_a_record_is_on_the_disk_when_append_returns(writer, database):
    asyncio.run(writer.append(entry("a", "X-1")))
    other = sqlite3.connect(database.engine.url.database)
    assert other.execute("SELECT body FROM evaluation").fetchall() == [(b"body of a",)]
    other.close()


def test_many_at_once_share_commits_and_none_is_lost(writer, database):
    commits = []
    event.listen(database.engine, "commit", commits.append)

    async def all_at_once():
        await asyncio.gather(*(writer.append(entry(f"r{number:03}")) for number in range(200)))

    asyncio.run(all_at_once())
    with database.reading() as connection:
        found, more = records(connection, RecordFilter(), None, 200)
    assert (len(found), more) == (200, False)
    assert len(commits) < 100


def test_what_the_database_raises_reaches_whoever_waits(writer, database):
    asyncio.run(writer.append(entry("a")))
    with pytest.raises(IntegrityError):
        asyncio.run(writer.append(entry("a")))

    def away(_connection):
        raise OperationalError("BEGIN", {}, Exception("away"))

    event.listen(database.engine, "begin", away)
    with pytest.raises(OperationalError):
        asyncio.run(writer.append(entry("b")))
    event.remove(database.engine, "begin", away)
    asyncio.run(writer.append(entry("b")))
    with database.reading() as connection:
        assert record_body(connection, "b") == b"body of b"


def test_a_caller_that_leaves_does_not_stop_the_writer(writer, database):
    async def leave():
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(writer.append(entry("left")), 0)
        await writer.append(entry("stayed"))

    asyncio.run(leave())
    writer.close()
    with database.reading() as connection:
        assert record_body(connection, "stayed") == b"body of stayed"


def test_closing_writes_what_waits_and_a_new_start_is_possible(writer, database):
    writer.close()
    asyncio.run(writer.append(entry("a")))
    writer.close()
    asyncio.run(writer.append(entry("b")))
    with database.reading() as connection:
        assert len(records(connection, RecordFilter(), None, 9)[0]) == 2


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        (RecordFilter(), ["c", "b", "a"]),
        (RecordFilter(vehicle="w"), ["b"]),
        (RecordFilter(axle="rear"), ["c"]),
        (RecordFilter(sku="X-1"), ["c", "a"]),
        (RecordFilter(verdict="unsafe"), ["b"]),
        (RecordFilter(since="2026-01-01T11:00:00Z"), ["c", "b"]),
        (RecordFilter(until="2026-01-01T11:00:00Z"), ["a"]),
        (RecordFilter(since="2026-01-01T11:00:00Z", until="2026-01-01T11:00:01Z"), ["b"]),
    ],
)
def test_records_are_found_by_what_they_are_about(writer, database, wanted, expected):
    kept = [
        entry("a", "X-1", "X-2"),
        entry("b", vehicle="w", verdict="unsafe", evaluated_at="2026-01-01T11:00:00Z"),
        entry("c", "X-1", axle="rear", evaluated_at="2026-01-01T12:00:00Z"),
    ]
    for each in kept:
        asyncio.run(writer.append(each))
    with database.reading() as connection:
        found, _ = records(connection, wanted, None, 50)
        assert [record["id"] for record in found] == expected
        assert {record["id"]: record["skus"] for record in found}.get("a", ["X-1", "X-2"]) == ["X-1", "X-2"]
        assert [record["id"] for record in records(connection, RecordFilter(), "c", 1)[0]] == ["b"]
        with pytest.raises(UnknownRecordError):
            record_body(connection, "d")
