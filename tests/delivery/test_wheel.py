"""The wheel as it is delivered: built, installed away from the checkout, migrated, served and stopped."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
START_SECONDS = 30.0


def pip(*arguments):
    subprocess.run([sys.executable, "-m", "pip", "--quiet", *arguments], check=True, cwd=ROOT)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dist")
    pip("wheel", "--no-deps", "--no-index", "--no-build-isolation", "--wheel-dir", str(folder), str(ROOT))
    (built,) = folder.glob("coilgap-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    folder = tmp_path_factory.mktemp("installed")
    pip("install", "--no-deps", "--no-index", "--target", str(folder), str(wheel))
    return folder


@pytest.fixture
def away(installed, tmp_path):
    """Arguments of a process that finds the installed package, its settings its own, the checkout out of sight."""
    settings = {
        "COILGAP_PORT": str(free_port()),
        "COILGAP_DATABASE_URL": f"sqlite:///{tmp_path / 'delivered.sqlite3'}",
        "PYTHONPATH": str(installed),
    }
    inherited = {name: value for name, value in os.environ.items() if not name.startswith(("COILGAP_", "PYTHON"))}
    return {"cwd": tmp_path, "env": inherited | settings}


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def answer(url):
    with urllib.request.urlopen(url, timeout=5) as response:  # noqa: S310
        return response.status, json.load(response)


def first_answer(url, process):
    deadline = time.monotonic() + START_SECONDS
    while True:
        try:
            return answer(url)
        except urllib.error.URLError:
            assert process.poll() is None, "the service ended instead of answering"
            assert time.monotonic() < deadline, "the service did not answer in time"
            time.sleep(0.1)


def test_wheel_carries_every_migration_and_every_file_of_the_package(wheel):
    carried = set(zipfile.ZipFile(wheel).namelist())
    package = {path.relative_to(ROOT).as_posix() for path in (ROOT / "service").rglob("*.*") if path.is_file()}
    migrations = {
        f"service/catalogue/migrations/{path.relative_to(ROOT / 'alembic').as_posix()}"
        for path in (ROOT / "alembic").rglob("*.*")
        if path.is_file()
    }
    expected = {name for name in package | migrations if not name.endswith(".pyc")}
    assert "service/catalogue/migrations/env.py" in expected
    assert expected - carried == set()
    assert {name.split("/")[0] for name in carried} == {"service", f"{wheel.name.rsplit('-', 3)[0]}.dist-info"}


def test_installed_package_is_the_one_that_runs(installed, away):
    found = subprocess.run(
        [sys.executable, "-c", "import service; print(service.__file__)"],
        capture_output=True,
        text=True,
        check=True,
        **away,
    )
    assert Path(found.stdout.strip()).is_relative_to(installed)


def test_installed_service_migrates_serves_and_stops(away):
    subprocess.run([sys.executable, "-m", "service", "migrate"], check=True, timeout=START_SECONDS, **away)
    assert (away["cwd"] / "delivered.sqlite3").stat().st_size > 0
    address = f"http://127.0.0.1:{away['env']['COILGAP_PORT']}"
    process = subprocess.Popen([sys.executable, "-m", "service"], **away)
    try:
        assert first_answer(address + "/healthz", process)[0] == 200
        assert answer(address + "/readyz")[0] == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=START_SECONDS) in {0, 130}
    finally:
        process.kill()
        process.wait()
