"""A running service for the tests: the real app on a database that the real migrations made."""

import asyncio
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from itertools import count
from pathlib import Path

import httpx
import psycopg
import pytest

from service.app import create_app
from service.settings import Settings

NUMBERS = count(1)

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


class Client:
    """A caller of one app over ASGI, in step with the tests; a failure of the app is an answer, as to any client."""

    def __init__(self, app):
        self.app = app
        self._runner = asyncio.Runner()
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        self._http = httpx.AsyncClient(transport=transport, base_url="http://service.test")

    def request(self, method, path, **arguments):
        return self._runner.run(self._http.request(method, path, **arguments))

    def get(self, path, **arguments):
        return self.request("GET", path, **arguments)

    def post(self, path, json, **arguments):
        return self.request("POST", path, json=json, **arguments)

    def put(self, path, json, **arguments):
        return self.request("PUT", path, json=json, **arguments)

    def delete(self, path, **arguments):
        return self.request("DELETE", path, **arguments)

    def send_text(self, text, path="/v1/evaluations"):
        """A body as it is, for what a JSON writer would not write."""
        content = text if isinstance(text, bytes) else text.encode()
        return self.request("POST", path, content=content, headers={"Content-Type": "application/json"})

    def evaluate(self, **request):
        return self.post("/v1/evaluations", request)

    def close(self):
        self._runner.run(self._http.aclose())
        self._runner.close()
        self.app.state.service.close()


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
def app(settings):
    return create_app(settings)


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


def server_program(name):
    """A program of the database server, wherever the machine keeps it."""
    found = shutil.which(name) or max(map(str, Path("/usr/lib/postgresql").glob(f"*/bin/{name}")), default=None)
    return found or pytest.skip(f"this machine has no {name}: the PostgreSQL tests are left out")


@pytest.fixture(scope="session")
def postgres_server():
    """A throw-away PostgreSQL, run by a plain user; its address without a database's name."""
    initdb, server = server_program("initdb"), server_program("postgres")
    plain = {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.geteuid() == 0 else {}
    with tempfile.TemporaryDirectory(prefix="postgres-") as folder:
        if plain:
            shutil.chown(folder, plain["user"], plain["group"])
        data = f"{folder}/data"
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder, **plain}
        subprocess.run([initdb, "-D", data, "-U", "keeper", "-A", "trust", "-N"], check=True, **quiet)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        options = ["-c", "listen_addresses=127.0.0.1", "-c", "fsync=off", "-p", str(port), "-k", folder]
        with subprocess.Popen([server, "-D", data, *options], **quiet) as process:
            address = f"postgresql://keeper@127.0.0.1:{port}"
            wait_for(f"{address}/postgres")
            yield address
            process.send_signal(signal.SIGINT)


def wait_for(address):
    for _ in range(200):
        try:
            psycopg.connect(address).close()
        except psycopg.OperationalError:
            time.sleep(0.05)
        else:
            return
    pytest.fail("the throw-away PostgreSQL does not answer")


@pytest.fixture
def postgres_url(postgres_server):
    """The address of a new, empty PostgreSQL database."""
    name = f"t{next(NUMBERS)}"
    with psycopg.connect(f"{postgres_server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return f"{postgres_server}/{name}"
