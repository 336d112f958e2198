# ruff: noqa: S608 — the statements are the tests' own
"""The chain: whatever is altered, removed or put in between shows, on both databases."""

import asyncio
import hashlib
from contextlib import closing, contextmanager
from threading import Thread

import orjson
import pytest
import rfc8785
from entries import entry
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from service.database import Database
from service.ledger.chain import ORIGIN, STATED, Head, HeadMissingError, chained, facts
from service.ledger.verification import verify
from service.ledger.writer import LedgerWriter

KEPT = [entry("a", "X-1", "X-2"), entry("b"), entry("c", "X-1", vehicle=None), entry("d"), entry("e", "X-3")]


@pytest.fixture
def database(migrated_url):
    with closing(Database(migrated_url)) as database:
        yield database


@pytest.fixture
def chain(database):
    """A ledger of five records."""
    append(database, *KEPT)
    return database


def append(database, *entries):
    with closing(LedgerWriter(database)) as writer:
        for each in entries:
            asyncio.run(writer.append(each))


@contextmanager
def intruder(database):
    """A connection of somebody who may do anything: what protects the ledger is out of force."""
    with database.engine.execution_options(writes=True).connect() as connection:
        if database.embedded:
            connection.connection.dbapi_connection.execute("PRAGMA foreign_keys = OFF")
            for name in (
                connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars().all()
            ):
                connection.execute(text(f"DROP TRIGGER {name}"))
        else:
            connection.execute(text("SET session_replication_role = replica"))
        yield connection
        connection.rollback()
        connection.invalidate()  # nobody else gets this one


def tamper(database, *statements, **values):
    with intruder(database) as connection:
        for statement in statements:
            connection.execute(text(statement), values)
        connection.commit()


def rows(database):
    with database.reading() as connection:
        return [dict(row) for row in connection.execute(text("SELECT * FROM evaluation ORDER BY place")).mappings()]


def flaws(database, noted=None):
    with database.snapshot() as connection:
        return verify(connection, noted).flaws


def test_a_ledger_that_nobody_touched_is_whole(chain):
    with chain.snapshot() as connection:
        verified = verify(connection)
        head = Head(*connection.execute(text("SELECT place, sha256 FROM ledger_head")).one())
    assert (verified.records, verified.flaws, verified.end) == (5, (), head)
    kept = rows(chain)
    assert [row["place"] for row in kept] == [1, 2, 3, 4, 5]
    assert [row["prev_sha256"] for row in kept] == [ORIGIN, *(row["sha256"] for row in kept[:-1])]
    assert flaws(chain, head) == flaws(chain, Head(3, kept[2]["sha256"])) == ()


def test_a_whole_batch_is_kept_in_its_order_with_all_its_parts(database):
    """More rows than go into one statement, and not a multiple of them."""
    batch = [entry(f"r{number:04}", *(f"X-{part}" for part in range(number % 4))) for number in range(1000)]
    with closing(LedgerWriter(database)) as writer:
        asyncio.run(writer.append(*batch))
    assert flaws(database) == ()
    with database.reading() as connection:
        kept = connection.execute(text("SELECT id, body FROM evaluation ORDER BY place")).all()
        about = connection.execute(text("SELECT evaluation_id, sku FROM evaluation_sku")).all()
    assert [(name, bytes(body)) for name, body in kept] == [(each.row["id"], each.row["body"]) for each in batch]
    assert sorted(map(tuple, about)) == sorted((each.row["id"], sku) for each in batch for sku in each.skus)


def test_an_empty_ledger_is_whole(database):
    with database.snapshot() as connection:
        assert verify(connection).end == Head(0, ORIGIN)
    assert flaws(database, Head(0, ORIGIN)) == ()


def test_a_digest_can_be_had_by_hand(chain):
    row = rows(chain)[0]
    by_hand = {name: row[name] for name in STATED} | {
        "skus": ["X-1", "X-2"],
        "request_sha256": hashlib.sha256(b'{"axle":{}}').hexdigest(),
        "body_sha256": hashlib.sha256(b"body of a").hexdigest(),
    }
    assert row["sha256"] == hashlib.sha256(rfc8785.dumps(by_hand)).hexdigest()


TEXT = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXT, TEXT, st.integers(0, 2**53 - 1))
def test_the_quick_spelling_of_facts_is_that_of_the_standard(headline, request, place):
    row = {**KEPT[0].row, "headline": headline, "request": request, "place": place, "prev_sha256": ORIGIN}
    stated = facts(row, ["é", "z", "\ue000", "\U0001f600"])
    (spelt,), head = chained(Head(place - 1, ORIGIN), [(row, stated["skus"])])
    assert orjson.dumps(stated, option=orjson.OPT_SORT_KEYS) == rfc8785.dumps(stated)
    assert spelt["sha256"] == head.sha256 == hashlib.sha256(rfc8785.dumps(stated)).hexdigest()


OTHER = {"policy_version": 2, "place": 77, "body": b"another body", "prev_sha256": "f" * 64, "sha256": "f" * 64}


@pytest.mark.parametrize("place", [1, 3, 5])
def test_an_altered_cell_is_found(chain, place):
    for column in rows(chain)[0]:
        with intruder(chain) as connection:
            change = text(f"UPDATE evaluation SET {column} = :value WHERE place = :place")
            connection.execute(change, {"value": OTHER.get(column, "z"), "place": place})
            assert verify(connection).flaws, column


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO evaluation_sku VALUES ('b', 'X-9')",
        "DELETE FROM evaluation_sku WHERE evaluation_id = 'a' AND sku = 'X-1'",
        "UPDATE evaluation_sku SET sku = 'X-9' WHERE evaluation_id = 'c'",
        "UPDATE evaluation_sku SET evaluation_id = 'd' WHERE evaluation_id = 'c'",
    ],
)
def test_altered_parts_of_a_record_are_found(chain, statement):
    tamper(chain, statement)
    assert flaws(chain)


@pytest.mark.parametrize(
    ("gone", "said"),
    [
        ("= 1", "The record at place 1 is missing."),
        ("IN (2, 3)", "The records at places 2 to 3 are missing."),
        ("= 5", "The record at place 5 is missing."),
        ("> 2", "The records at places 3 to 5 are missing."),
        ("> 0", "The records at places 1 to 5 are missing."),
    ],
)
def test_missing_records_are_found(chain, gone, said):
    tamper(
        chain,
        f"DELETE FROM evaluation_sku WHERE evaluation_id IN (SELECT id FROM evaluation WHERE place {gone})",
        f"DELETE FROM evaluation WHERE place {gone}",
    )
    assert flaws(chain) == (said,)


def test_a_gap_that_is_closed_is_found(chain):
    tamper(chain, "DELETE FROM evaluation WHERE id = 'b'", "UPDATE ledger_head SET place = 4")
    for place in (3, 4, 5):
        tamper(chain, f"UPDATE evaluation SET place = {place - 1} WHERE place = {place}")
    assert any("place 2 does not follow the one before it" in flaw for flaw in flaws(chain))


def test_parts_left_behind_tell_of_a_record(chain):
    tamper(chain, "DELETE FROM evaluation WHERE id = 'e'")
    assert "Record e is missing: the table of its parts still names it." in flaws(chain)


def inserted(record_id, before, place):
    """A record as if the service had written it after ``before``, at a place of the intruder's choice."""
    (row,), _ = chained(Head(place - 1, before), [(entry(record_id).row, [])])
    columns = ", ".join(row)
    return f"INSERT INTO evaluation ({columns}) VALUES (:{', :'.join(row)})", row


@pytest.mark.parametrize("place", [0, -3, 6, 9])
def test_a_record_that_was_put_in_is_found(chain, place):
    statement, row = inserted("z", rows(chain)[-1]["sha256"], place)
    tamper(chain, statement, **row)
    assert any("put in" in flaw for flaw in flaws(chain))


def test_a_record_that_was_exchanged_is_found(chain):
    """Even the last one, with all its digests right: the head states another."""
    for place, said in ((3, "place 4 does not follow"), (5, "not the one that the head states")):
        before = rows(chain)[place - 2]["sha256"]
        statement, row = inserted(f"z{place}", before, place)
        tamper(
            chain,
            f"DELETE FROM evaluation_sku WHERE evaluation_id = '{'abcde'[place - 1]}'",
            f"DELETE FROM evaluation WHERE place = {place}",
        )
        tamper(chain, statement, **row)
        assert any(said in flaw for flaw in flaws(chain))


def test_what_is_cut_off_with_the_head_set_back_shows_by_a_head_that_was_noted(chain):
    """From the inside such a ledger is whole: this is what noting the head down is for."""
    kept = rows(chain)
    noted = Head(5, kept[4]["sha256"])
    tamper(
        chain,
        "DELETE FROM evaluation_sku WHERE evaluation_id = 'e'",
        "DELETE FROM evaluation WHERE place > 3",
        f"UPDATE ledger_head SET place = 3, sha256 = '{kept[2]['sha256']}'",
    )
    assert flaws(chain) == ()
    assert flaws(chain, noted) == ("The ledger was cut off: it ends at place 3, and place 5 was noted down.",)
    append(chain, entry("f"), entry("g"))
    assert flaws(chain) == ()
    assert flaws(chain, noted) == ("The record at place 5 is not the one that was noted down.",)


def test_a_lost_head_is_found_and_nothing_is_appended_without_one(chain):
    tamper(chain, "DELETE FROM ledger_head")
    assert flaws(chain) == ("The ledger has lost its head: nothing says where it should end.",)
    with pytest.raises(HeadMissingError):
        append(chain, entry("f"))
    assert len(rows(chain)) == 5


def test_cells_that_hold_what_the_service_never_writes_stop_no_verifying(chain):
    if chain.embedded:  # the other database holds its columns to their types
        tamper(chain, "UPDATE evaluation SET body = 'text' WHERE place = 2")
        tamper(chain, "UPDATE evaluation SET request = x'00ff' WHERE place = 4")
        assert [flaw for flaw in flaws(chain) if "was altered." in flaw] == [
            "Record b at place 2 was altered.",
            "Record d at place 4 was altered.",
        ]
        tamper(chain, "UPDATE evaluation SET place = 'nowhere' WHERE place = 5")
        assert "Record e stands at no place of the chain ('nowhere'): it was put in." in flaws(chain)
        tamper(chain, "UPDATE ledger_head SET place = 'nowhere'")
        assert "The head states no place ('nowhere'): it was altered." in flaws(chain)


def test_a_cell_that_is_no_text_is_altered_and_stops_no_verifying(chain):
    if chain.embedded:  # the other database keeps nothing but text as one
        for column in [name for name in rows(chain)[0] if name not in ("place", "prev_sha256", "sha256")]:
            with intruder(chain) as connection:
                connection.execute(text(f"UPDATE evaluation SET {column} = CAST(x'ff7b' AS TEXT) WHERE place = 4"))
                connection.execute(text("UPDATE evaluation SET headline = 'Fits.' WHERE place = 5"))
                fourth, fifth = [flaw for flaw in verify(connection).flaws if "was altered." in flaw]
            assert fourth.endswith(" at place 4 was altered."), column
            assert fifth == "Record e at place 5 was altered.", column


def test_other_cells_that_are_no_text_stop_no_verifying(chain):
    if chain.embedded:
        tamper(chain, "UPDATE evaluation_sku SET sku = CAST(x'ff7b' AS TEXT) WHERE evaluation_id = 'c'")
        assert flaws(chain) == ("Record c at place 3 was altered.",)
        tamper(chain, "UPDATE ledger_head SET sha256 = CAST(x'ff7b' AS TEXT)")
        assert any("not the one that the head states" in flaw for flaw in flaws(chain))


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM ledger_head",
        "UPDATE ledger_head SET place = 4",
        "UPDATE ledger_head SET sha256 = ''",
        "UPDATE ledger_head SET place = place",
    ],
)
def test_the_database_itself_keeps_the_head_from_going_back(chain, statement):
    with pytest.raises(DatabaseError, match="only moves on"), chain.writing() as connection:
        connection.execute(text(statement))


def test_writers_at_once_make_one_chain(database, migrated_url):
    """Each has its connections to itself, as processes have."""

    def write(writer_number):
        with closing(Database(migrated_url)) as own:
            append(own, *(entry(f"{writer_number}-{number}", "X-1") for number in range(25)))

    writers = [Thread(target=write, args=(number,)) for number in range(4)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with database.snapshot() as connection:
        verified = verify(connection)
    assert (verified.records, verified.end.place, verified.flaws) == (100, 100, ())


def test_verifying_sees_one_moment_while_records_are_added(chain):
    with chain.snapshot() as connection:
        assert verify(connection).records == 5
        append(chain, entry("f"))
        assert (verify(connection).records, verify(connection).flaws) == (5, ())
    with chain.snapshot() as connection:
        assert verify(connection).records == 6
