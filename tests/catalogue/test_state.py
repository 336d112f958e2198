"""The counter of the catalogue's changes: moved by every writer, whoever it is, and asked without the usual layers."""

import threading

import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from service.catalogue.revisions import AXLES, PARTS, VEHICLES, create, current, revise, withdraw
from service.catalogue.state import CatalogueState, StateMissingError
from service.database import Database

PART = {"name": "Spacer", "supplier": "Invented Works", "kind": "strut_top_spacer", "thickness_mm": 15, "fits": []}
SEARCHED = {name: PART[name] for name in ("kind", "supplier", "name")}


@pytest.fixture
def database(migrated_url):
    database = Database(migrated_url)
    yield database
    database.close()


@pytest.fixture
def state(database):
    state = CatalogueState(database)
    yield state
    state.close()


def add(database, sku):
    with database.writing() as connection:
        create(connection, PARTS, (sku,), PART, SEARCHED)


def add_and_fail(database):
    with database.writing() as connection:
        create(connection, PARTS, ("q",), PART, SEARCHED)
        raise ZeroDivisionError


def test_every_change_of_a_vehicle_an_axle_or_a_part_is_counted(database, state):
    def vehicle(connection):
        create(connection, VEHICLES, ("v",), {"name": "V"}, {})

    def axle(connection):
        create(connection, AXLES, ("v", "front"), {"layout": "macpherson"}, {})

    def part(connection):
        create(connection, PARTS, ("p",), PART, SEARCHED)

    def revised(connection):
        revise(connection, PARTS, current(connection, PARTS, ("p",)), {**PART, "thickness_mm": 9}, SEARCHED)

    def withdrawn(connection):
        withdraw(connection, PARTS, current(connection, PARTS, ("p",)))

    seen = [state.changes()]
    for change in (vehicle, axle, part, revised, withdrawn):
        with database.writing() as connection:
            change(connection)
            assert state.changes() == seen[-1]  # nobody else sees what has not been committed
        seen.append(state.changes())
    assert seen == sorted(set(seen))


def test_what_is_taken_back_and_what_is_only_read_does_not_count(database, state):
    add(database, "p")
    before = state.changes()
    with pytest.raises(ZeroDivisionError):
        add_and_fail(database)
    with database.reading() as connection:
        current(connection, PARTS, ("p",))
    assert state.changes() == before


def test_a_writer_that_knows_nothing_of_the_service_is_counted_too(database, state):
    add(database, "p")
    before = state.changes()
    with database.writing() as connection:
        connection.execute(text("UPDATE part SET status = 'withdrawn' WHERE sku = 'p'"))
    assert state.changes() > before


def test_a_thousand_rows_in_one_transaction_and_many_editors_at_once(database, state):
    before = state.changes()
    with database.writing() as connection:
        for number in range(1000):
            create(connection, PARTS, (f"bulk-{number}",), PART, SEARCHED)
    seen = state.changes()
    assert seen > before
    editors = [threading.Thread(target=add, args=(database, f"editor-{number}")) for number in range(8)]
    for editor in editors:
        editor.start()
    for editor in editors:
        editor.join()
    assert state.changes() >= seen + 8


def test_a_counter_that_is_gone_is_noticed(database, state):
    with database.writing() as connection:
        connection.execute(text("DELETE FROM catalogue_state"))
    with pytest.raises(StateMissingError):
        state.changes()


def test_a_lost_connection_is_made_anew(state):
    before = state.changes()
    state._connection.close()
    assert state.changes() == before


def test_a_database_that_is_away_is_said_to_be(tmp_path):
    database = Database(f"sqlite:///{tmp_path / 'no' / 'such' / 'folder.sqlite3'}")
    with pytest.raises(OperationalError):
        CatalogueState(database).changes()
    database = Database("postgresql://nobody@127.0.0.1:9/none")
    with pytest.raises(OperationalError):
        CatalogueState(database).changes()
