"""Heads and revisions: who comes second is told, and nothing that was ever in force is lost."""

from threading import Barrier, Thread

import pytest

from service.catalogue.revisions import (
    PARTS,
    VEHICLES,
    AlreadyThereError,
    StaleRevisionError,
    UnknownError,
    at_revision,
    create,
    current,
    exists,
    revise,
    withdraw,
)
from service.catalogue.upgrade import migrate, ready_database

SEARCHED = {"kind": "strut", "supplier": "Invented Works", "name": "A strut"}


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request, tmp_path):
    url = f"sqlite:///{tmp_path / 'revisions.sqlite3'}"
    if request.param == "postgresql":
        url = request.getfixturevalue("postgres_url")
    migrate(url)
    database = ready_database(url)
    yield database
    database.close()


@pytest.fixture
def connection(database):
    with database.writing() as connection:
        yield connection


def test_every_revision_stays_readable(connection):
    first = create(connection, PARTS, ("A-1",), {"sku": "A-1", "length": 1.5}, SEARCHED)
    second = revise(connection, PARTS, first, {"sku": "A-1", "length": 2.5}, SEARCHED)
    assert (first.revision, second.revision) == (1, 2)
    assert current(connection, PARTS, ("A-1",)) == second
    assert at_revision(connection, PARTS, ("A-1",), 1) == first
    assert second.created_at == first.created_at


def test_withdrawing_makes_a_revision_once(connection):
    first = create(connection, VEHICLES, ("v",), {"name": "V"}, {})
    gone = withdraw(connection, VEHICLES, first)
    assert (gone.revision, gone.status, gone.body) == (2, "withdrawn", {"name": "V", "status": "withdrawn"})
    assert withdraw(connection, VEHICLES, gone) == gone
    back = revise(connection, VEHICLES, gone, {"name": "V"}, {})
    assert (back.revision, back.status) == (3, "active")


def test_what_is_not_there_is_said_so(connection):
    create(connection, PARTS, ("A-1",), {}, SEARCHED)
    assert exists(connection, PARTS, ("A-1",))
    assert not exists(connection, PARTS, ("A-2",))
    with pytest.raises(UnknownError, match="no part A-2"):
        current(connection, PARTS, ("A-2",))
    with pytest.raises(UnknownError, match="no part A-1/revision 2"):
        at_revision(connection, PARTS, ("A-1",), 2)


def test_a_name_is_given_once(database):
    with database.writing() as connection:
        create(connection, PARTS, ("A-1",), {}, SEARCHED)
    with pytest.raises(AlreadyThereError, match="a part A-1 already"), database.writing() as connection:
        create(connection, PARTS, ("A-1",), {}, SEARCHED)


def test_a_change_made_from_an_old_revision_is_refused(connection):
    first = create(connection, PARTS, ("A-1",), {}, SEARCHED)
    revise(connection, PARTS, first, {}, SEARCHED)
    with pytest.raises(StaleRevisionError) as refusal:
        revise(connection, PARTS, first, {"late": True}, SEARCHED)
    assert refusal.value.current == 2


def test_of_editors_at_once_one_wins_and_the_others_are_told(database):
    with database.writing() as connection:
        first = create(connection, PARTS, ("A-1",), {}, SEARCHED)
    start, won, told = Barrier(6), [], []

    def edit(editor):
        start.wait()
        try:
            with database.writing() as connection:
                won.append(revise(connection, PARTS, first, {"editor": editor}, SEARCHED))
        except StaleRevisionError as error:
            told.append(error.current)

    editors = [Thread(target=edit, args=(editor,)) for editor in range(6)]
    for editor in editors:
        editor.start()
    for editor in editors:
        editor.join()
    assert (len(won), told) == (1, [2] * 5)
    with database.reading() as connection:
        assert current(connection, PARTS, ("A-1",)) == won[0]
