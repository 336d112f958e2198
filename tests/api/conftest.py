"""The API's tests run on both databases: SQLite and PostgreSQL."""

import shutil
from contextlib import contextmanager

import pytest
from asgi_client import Client
from real_server import serving
from throwaway_postgres import new_database, new_name

from service.app import create_app
from service.settings import Settings


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def new_demo_url(request, tmp_path_factory):
    """Makes databases with the demo catalogue, all of them of one sort."""
    if request.param == "sqlite":
        return lambda: _copied_file(request.getfixturevalue("demo_database"), tmp_path_factory.mktemp("demo"))
    server, template = request.getfixturevalue("postgres_server"), request.getfixturevalue("postgres_demo")
    return lambda: new_database(server, new_name(), template)


@contextmanager
def _copied_file(template, folder):
    yield f"sqlite:///{shutil.copy(template, folder / 'service.sqlite3')}"


@pytest.fixture
def settings(new_demo_url):
    with new_demo_url() as url:
        yield Settings(database_url=url)


@pytest.fixture(scope="module")
def shared_client(new_demo_url):
    """One service for all tests of a module that leave nothing behind."""
    with new_demo_url() as url:
        client = Client(create_app(Settings(database_url=url)))
        yield client
        client.close()


@pytest.fixture
def served(app):
    """The address of a real server: for what needs a socket, or callers in threads of their own."""
    with serving(app) as address:
        yield address
