"""A database with the demo catalogue to bring files into, and an empty one of the same sort."""

from contextlib import contextmanager

import pytest
from throwaway_postgres import new_database, new_name

from service.catalogue.upgrade import migrate
from service.database import Database


@pytest.fixture
def empty(database, request, tmp_path):
    """A second database of the same sort, without anything in it."""
    with _new_address(database, request, tmp_path) as address:
        migrate(address)
        other = Database(address)
        yield other
        other.close()


@contextmanager
def _new_address(database, request, tmp_path):
    if database.embedded:
        yield f"sqlite:///{tmp_path / 'empty.sqlite3'}"
    else:
        with new_database(request.getfixturevalue("postgres_server"), new_name()) as address:
            yield address
