"""The demo catalogue is loaded through the API's own checks, whole, and into an empty catalogue alone."""

import pytest
from pydantic import ValidationError

from service.api import demo
from service.app import create_app
from service.catalogue import listing
from service.catalogue.revisions import PARTS, VEHICLES
from service.catalogue.upgrade import migrate, ready_database
from service.engine.refusal import RefusedError
from service.settings import Settings


@pytest.fixture
def database(tmp_path):
    database = ready_database(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    yield database
    database.close()


def counts(database):
    with database.reading() as connection:
        return [len(listing.things(connection, shelf, None, None, 200).items) for shelf in (VEHICLES, PARTS)]


def test_everything_in_the_files_is_loaded_once(database):
    assert demo.load_demo(database)
    loaded = counts(database)
    assert loaded == [len(demo.demo_bodies("vehicles")), len(demo.demo_bodies("parts"))]
    assert not demo.load_demo(database)
    assert counts(database) == loaded


@pytest.mark.parametrize(
    ("what", "spoil", "error"),
    [
        ("parts", {"thickness_mn": 3}, ValidationError),
        ("parts", {"status": "new"}, ValidationError),
        ("vehicles", {"vehicle_masses": {"wheelbase_mm": 3}}, RefusedError),
    ],
)
def test_a_body_that_the_api_would_refuse_is_refused_and_nothing_is_loaded(database, monkeypatch, what, spoil, error):
    files = {name: demo.demo_bodies(name) for name in ("vehicles", "axles", "parts")}
    files[what][-1] |= spoil
    monkeypatch.setattr(demo, "demo_bodies", files.__getitem__)
    with pytest.raises(error):
        demo.load_demo(database)
    assert counts(database) == [0, 0]


def test_a_service_that_is_told_so_begins_empty(tmp_path):
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'bare.sqlite3'}", demo=False))
    assert counts(app.state.service.database) == [0, 0]
    app.state.service.close()


def test_a_servers_database_never_gets_the_demo(postgres_url):
    migrate(postgres_url)
    app = create_app(Settings(database_url=postgres_url))
    assert counts(app.state.service.database) == [0, 0]
    app.state.service.close()
