"""The ring of keys: who is recognised, for how long without asking the database, and how seldom it writes."""

import asyncio
from contextlib import contextmanager

import pytest
from sqlalchemy import event, text

from service.database import Database
from service.keys import ring as ring_module
from service.keys.issuing import issue, key_row, revoke
from service.keys.ring import FRESH_S, NOTED_S, KeyRing


class Clock:
    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(ring_module, "monotonic", clock)
    return clock


@pytest.fixture
def database(migrated_url):
    database = Database(migrated_url)
    yield database
    database.close()


def new_key(database, scopes=("evaluate",), expires_at=None):
    with database.writing() as connection:
        return issue(connection, "n", scopes, expires_at)


def found(ring, *keys):
    """Who each key belongs to, once the time of their use has been noted."""

    async def find():
        return [await ring.find(key) for key in keys]

    callers = asyncio.run(find())
    ring._notes.submit(int).result()
    return callers


@contextmanager
def counted(database):
    """The statements of a block, as they were sent."""
    sent = []

    def note(_connection, _cursor, statement, *_):
        sent.append(statement.split()[0])

    event.listen(database.engine, "before_cursor_execute", note)
    yield sent
    event.remove(database.engine, "before_cursor_execute", note)


def test_a_key_is_recognised_and_its_scopes_are_known(database):
    key = new_key(database, ["evaluate", "catalogue"])
    (caller,) = found(KeyRing(database), key)
    assert caller.key_id == key.split("_")[1]
    assert caller.scopes == {"evaluate", "catalogue"}


def test_admin_may_everything(database):
    (caller,) = found(KeyRing(database), new_key(database, ["admin"]))
    assert caller.scopes == {"evaluate", "catalogue", "admin"}


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _: "",
        lambda _: "x",
        lambda key: key[:-1],
        lambda key: key + "A",
        lambda key: key[:-1] + ("A" if key[-1] != "A" else "B"),
        lambda key: key.replace("coilgap_", "coilgap-"),
        lambda key: "coilgap_" + "0" * 12 + key[20:],
        lambda key: key.upper(),
        lambda key: key + "\n",
    ],
)
def test_any_other_key_is_not(database, spoil):
    key = new_key(database)
    ring = KeyRing(database)
    assert found(ring, spoil(key), key, spoil(key))[::2] == [None, None]


def test_an_expired_key_is_not_recognised_even_while_it_is_kept(database, monkeypatch):
    key = new_key(database, expires_at="2999-01-01T00:00:00Z")
    ring = KeyRing(database)
    assert found(ring, key) != [None]
    monkeypatch.setattr(ring_module, "time", lambda: 32472144000.0)  # 2999-01-01
    assert found(ring, key) == [None]


def test_a_revoked_key_ends_within_seconds(database, clock):
    key = new_key(database)
    ring = KeyRing(database)
    assert found(ring, key) != [None]
    with database.writing() as connection:
        revoke(connection, key.split("_")[1])
    clock.now += FRESH_S + 0.1
    assert found(ring, key) == [None]
    assert FRESH_S <= 5


def test_the_database_is_asked_seldom_and_written_to_once_a_minute(database, clock):
    key = new_key(database)
    ring = KeyRing(database)
    with counted(database) as sent:
        found(ring, *[key] * 100)
    assert (sent.count("SELECT"), sent.count("UPDATE")) == (1, 1)
    clock.now += FRESH_S + 0.1
    with counted(database) as sent:
        found(ring, *[key] * 100)
    assert (sent.count("SELECT"), sent.count("UPDATE")) == (1, 0)
    clock.now += NOTED_S
    with counted(database) as sent:
        found(ring, *[key] * 100)
    assert (sent.count("SELECT"), sent.count("UPDATE")) == (1, 1)


def test_the_time_of_the_last_use_is_written_down(database):
    key = new_key(database)
    key_id = key.split("_")[1]
    with database.reading() as connection:
        assert key_row(connection, key_id)["last_used_at"] is None
    found(KeyRing(database), key)
    with database.reading() as connection:
        assert key_row(connection, key_id)["last_used_at"] is not None


def test_another_process_that_noted_it_lately_is_not_repeated(database):
    key = new_key(database)
    found(KeyRing(database), key)
    with database.writing() as connection:
        connection.execute(text("UPDATE api_key SET name = 'changed'"))
        before = key_row(connection, key.split("_")[1])
    found(KeyRing(database), key)
    with database.reading() as connection:
        assert key_row(connection, key.split("_")[1]) == before


def test_false_keys_do_not_fill_the_memory(database, monkeypatch):
    monkeypatch.setattr(ring_module, "MOST_KEPT", 3)
    ring = KeyRing(database)
    found(ring, *(f"coilgap_{number:012x}_{'a' * 43}" for number in range(20)))
    assert ring._kept == {}
    found(ring, *(new_key(database) for _ in range(20)))
    assert len(ring._kept) <= 3
    assert len(ring._note_again) <= 3
