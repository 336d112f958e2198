"""The database: what every connection is set to, and the canonical spelling of a body."""

import socket
import time
from contextlib import closing
from threading import Thread

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from service.database import UNREACHABLE, Database, canonical, database_address


@pytest.mark.parametrize(
    ("pragma", "value"), [("journal_mode", "wal"), ("foreign_keys", 1), ("synchronous", 2), ("busy_timeout", 10_000)]
)
def test_an_embedded_database_is_durable_and_keeps_its_references(database, pragma, value):
    with database.reading() as connection:
        assert connection.execute(text(f"PRAGMA {pragma}")).scalar() == value


def test_a_broken_reference_is_refused(database):
    orphan = text("INSERT INTO evaluation_sku VALUES ('no such record', 'X')")
    with pytest.raises(IntegrityError), database.writing() as connection:
        connection.execute(orphan)


def test_what_raises_is_undone_and_what_ends_is_kept(database):
    add = text("INSERT INTO vehicle VALUES (:name, 1, 'active', '2026-01-01T00:00:00Z')")

    def failing():
        with database.writing() as connection:
            connection.execute(add, {"name": "undone"})
            raise KeyError

    with pytest.raises(KeyError):
        failing()
    with database.writing() as connection:
        connection.execute(add, {"name": "kept"})
    with database.reading() as connection:
        found = connection.execute(text("SELECT vehicle_id FROM vehicle WHERE vehicle_id IN ('kept', 'undone')"))
        assert found.scalars().all() == ["kept"]


def test_writers_that_read_first_wait_for_each_other(database):
    """Without a turn taken at the start, one of two such writers would be refused at once as having read old rows."""
    with database.writing() as connection:
        connection.execute(text("INSERT INTO vehicle VALUES ('counted', 0, 'active', '2026-01-01T00:00:00Z')"))

    def count():
        for _ in range(20):
            with database.writing() as connection:
                read = connection.execute(text("SELECT revision FROM vehicle WHERE vehicle_id='counted'")).scalar()
                connection.execute(
                    text("UPDATE vehicle SET revision=:next WHERE vehicle_id='counted'"), {"next": read + 1}
                )

    writers = [Thread(target=count) for _ in range(4)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with database.reading() as connection:
        assert connection.execute(text("SELECT revision FROM vehicle WHERE vehicle_id='counted'")).scalar() == 80


def test_a_server_is_spoken_to_by_the_installed_driver():
    assert database_address("postgresql://keeper@db/coilgap").drivername == "postgresql+psycopg"
    assert database_address("sqlite:///x.sqlite3").drivername == "sqlite"
    server = Database("postgresql://keeper@db/coilgap")
    assert not server.embedded
    server.close()


def test_a_server_is_given_no_longer_than_the_setting_says(postgres_url):
    with closing(Database(postgres_url, timeout_s=7)) as server, server.reading() as connection:
        shown = {
            name: connection.execute(text(f"SHOW {name}")).scalar()
            for name in ("statement_timeout", "idle_in_transaction_session_timeout", "application_name")
        }
    assert shown == {
        "statement_timeout": "7s",
        "idle_in_transaction_session_timeout": "1min",
        "application_name": "coilgap",
    }


def test_a_statement_that_takes_too_long_is_given_up(postgres_url):
    with closing(Database(postgres_url, timeout_s=1)) as server:
        began = time.monotonic()
        with pytest.raises(UNREACHABLE), server.reading() as connection:
            connection.execute(text("SELECT pg_sleep(20)"))
        assert time.monotonic() - began < 5
        with server.reading() as connection:
            assert connection.execute(text("SELECT 1")).scalar() == 1


def test_nobody_answering_is_noticed_in_time():
    with socket.socket() as silent:  # takes the connection and says nothing
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        address = f"postgresql://keeper@127.0.0.1:{silent.getsockname()[1]}/coilgap"
        with closing(Database(address, timeout_s=2)) as server:
            began = time.monotonic()
            with pytest.raises(UNREACHABLE), server.reading():
                pass
            assert time.monotonic() - began < 6


def test_one_value_has_one_spelling():
    assert canonical({"b": 1.0, "a": {"d": None, "c": [2, "é"]}}) == '{"a":{"c":[2,"é"],"d":null},"b":1.0}'.encode()
    assert canonical({"x": 1, "y": 2}) == canonical({"y": 2, "x": 1})
