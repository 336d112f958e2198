"""A running service for the tests: the real app on a database that the real migrations made."""

import os
import shutil
from contextlib import closing

import pytest
from asgi_client import Client
from throwaway_postgres import new_database, new_name, running_server

from service.api.demo import load_demo
from service.app import create_app
from service.catalogue.references import References
from service.catalogue.upgrade import migrate
from service.database import Database
from service.settings import Settings

INVENTED_AXLE = {
    "layout": "wishbone_coilover",
    "travel": {
        "stations": [
            {"at": "full_droop", "arch_to_hub_mm": 604, "seat_gap_mm": 330, "damper_length_mm": 545},
            {"at": "ride", "arch_to_hub_mm": 524, "seat_gap_mm": 281, "damper_length_mm": 496},
            {"at": "bump_contact", "arch_to_hub_mm": 446, "seat_gap_mm": 234, "damper_length_mm": 449},
        ],
        "bump_stop_ratio": 0.6,
    },
    "fitted": {
        "spring": {
            "kind": "coil_spring",
            "wire_mm": 15,
            "total_coils": 10,
            "free_length_mm": 390,
            "rate_n_per_mm": 68,
        },
        "strut": {"kind": "strut", "extended_length_mm": 545, "closed_length_mm": 396, "seat_offset_mm": 215},
        "bump_stop": {"kind": "bump_stop", "free_height_mm": 54, "crushed_height_mm": 28},
    },
    "limits": {
        "upper_ball_joint": {"reached_at_arch_to_hub_mm": 640},
        "inner_cv": {"reached_at_arch_to_hub_mm": 636},
        "brake_hose": {"reached_at_arch_to_hub_mm": 660},
    },
    "unsprung_kg_per_wheel": 50,
}
INVENTED_MASSES = {
    "wheelbase_mm": 2900,
    "front_axle_kg": 1000,
    "rear_axle_kg": 880,
    "front_axle_rating_kg": 1300,
    "rear_axle_rating_kg": 1500,
    "gross_rating_kg": 2700,
}
INVENTED_SPACER = {
    "sku": "INV-TOP-15",
    "name": "Strut-top spacer, 15 mm",
    "supplier": "Invented Works",
    "kind": "strut_top_spacer",
    "thickness_mm": 15,
}


@pytest.fixture(scope="session")
def demo_database(tmp_path_factory):
    """A database file with the demo catalogue, to copy: migrating anew for each test would take most of the time."""
    file = tmp_path_factory.mktemp("template") / "demo.sqlite3"
    create_app(Settings(database_url=f"sqlite:///{file}")).state.service.close()
    return file


@pytest.fixture
def settings(demo_database, tmp_path):
    file = tmp_path / "service.sqlite3"
    shutil.copy(demo_database, file)
    return Settings(database_url=f"sqlite:///{file}")


@pytest.fixture
def database(settings):
    """A database with the demo catalogue, of the test's own."""
    with closing(Database(settings.database_url)) as database:
        yield database


@pytest.fixture
def references(database):
    """What evaluations know of the catalogue in it."""
    with closing(References(database)) as references:
        yield references


@pytest.fixture
def app(settings):
    app = create_app(settings)
    yield app
    app.state.service.close()


@pytest.fixture
def new_client():
    """Makes callers of apps, and closes them."""
    made = []

    def make(app):
        made.append(Client(app))
        return made[-1]

    yield make
    for client in made:
        client.close()


@pytest.fixture
def client(app, new_client):
    return new_client(app)


@pytest.fixture(scope="module")
def shared_client(demo_database, tmp_path_factory):
    """One service for all tests of a module that leave nothing behind."""
    file = tmp_path_factory.mktemp("shared") / "service.sqlite3"
    shutil.copy(demo_database, file)
    client = Client(create_app(Settings(database_url=f"sqlite:///{file}")))
    yield client
    client.close()


@pytest.fixture
def inline_axle():
    return {"inline": INVENTED_AXLE, "vehicle_masses": INVENTED_MASSES}


@pytest.fixture(scope="session")
def postgres_server():
    """The address, without a database's name, of the server that TEST_POSTGRESQL_URL names, or of a throw-away one."""
    named = os.environ.get("TEST_POSTGRESQL_URL")
    if named:
        yield named.rstrip("/")
        return
    with running_server() as server:
        yield server.address


@pytest.fixture
def postgres_url(postgres_server):
    """The address of a new, empty PostgreSQL database."""
    with new_database(postgres_server, new_name()) as url:
        yield url


@pytest.fixture(scope="session")
def postgres_demo(postgres_server):
    """The name of a PostgreSQL database with the demo catalogue, to copy."""
    name = new_name()
    with new_database(postgres_server, name) as url:
        migrate(url)
        database = Database(url)
        load_demo(database)
        database.close()
        yield name


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request, tmp_path):
    """The address of a new, empty database: the test runs on either sort."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'empty.sqlite3'}"
    return request.getfixturevalue("postgres_url")


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory):
    file = tmp_path_factory.mktemp("template") / "migrated.sqlite3"
    migrate(f"sqlite:///{file}")
    return file


@pytest.fixture(scope="session")
def postgres_migrated(postgres_server):
    """The name of a PostgreSQL database with its tables and nothing in them, to copy."""
    name = new_name()
    with new_database(postgres_server, name) as url:
        migrate(url)
        yield name


@pytest.fixture(params=["sqlite", "postgresql"])
def migrated_url(request, tmp_path):
    """The address of a new database of either sort, with its tables and nothing in them."""
    if request.param == "sqlite":
        yield f"sqlite:///{shutil.copy(request.getfixturevalue('migrated_file'), tmp_path / 'migrated.sqlite3')}"
        return
    server, template = request.getfixturevalue("postgres_server"), request.getfixturevalue("postgres_migrated")
    with new_database(server, new_name(), template) as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def demo_url(request, tmp_path):
    """The address of a new database of either sort with the demo catalogue."""
    if request.param == "sqlite":
        yield f"sqlite:///{shutil.copy(request.getfixturevalue('demo_database'), tmp_path / 'demo.sqlite3')}"
        return
    server, template = request.getfixturevalue("postgres_server"), request.getfixturevalue("postgres_demo")
    with new_database(server, new_name(), template) as url:
        yield url
