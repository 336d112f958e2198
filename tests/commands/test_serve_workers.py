"""``serve --workers``: several processes behind one address, which never answer from what another one has changed."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest

from service.api.demo import load_demo
from service.database import Database

ROOT = Path(__file__).parents[2]
SECONDS = 60
ASKED = {
    "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
    "parts": [{"sku": "KES-TOP-20"}],
    "record": False,
}


def environment(url):
    inherited = {name: value for name, value in os.environ.items() if not name.startswith("COILGAP_")}
    return {**inherited, "COILGAP_DATABASE_URL": url, "COILGAP_PORT": "0"}


def run(url, *arguments):
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        cwd=ROOT, env=environment(url), capture_output=True, text=True, timeout=SECONDS, check=False,
    )  # fmt: skip


@pytest.fixture
def demo_url(postgres_url):
    assert run(postgres_url, "migrate").returncode == 0
    database = Database(postgres_url)
    load_demo(database)
    database.close()
    return postgres_url


@pytest.fixture
def served(demo_url):
    """Two workers: their supervisor, the address, and the line that said so."""
    with subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--workers", "2"],
        cwd=ROOT, env=environment(demo_url), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        line = process.stdout.readline()
        found = re.search(r"http://[^ ]+", line)
        yield process, found and found[0], line
        process.terminate()


def workers(process):
    """The process ids below the supervisor that answer requests."""
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text("ascii").split()
    return {int(pid) for pid in children if "spawn_main" in Path(f"/proc/{pid}/cmdline").read_text("utf-8")}


def test_two_processes_answer_and_a_change_by_one_is_seen_by_the_other(served):
    process, address, line = served
    assert line.endswith(" with 2 workers (operations: /docs; stop: Ctrl-C)\n")
    assert len(workers(process)) == 2
    for thickness in range(1, 13):
        read = httpx.get(f"{address}/v1/parts/KES-TOP-20")
        changed = httpx.put(
            f"{address}/v1/parts/KES-TOP-20",
            json={**read.json(), "thickness_mm": thickness},
            headers={"If-Match": read.headers["etag"]},
        )
        assert changed.status_code == 200
        for _ in range(4):  # each over a connection of its own, which either process may take
            provenance = httpx.post(f"{address}/v1/evaluations", json=ASKED).json()["provenance"]
            assert provenance["part_revisions"] == {"KES-TOP-20": 1 + thickness}


def test_a_worker_that_dies_is_replaced(served):
    process, address, _ = served
    before = workers(process)
    os.kill(min(before), signal.SIGKILL)
    deadline = time.monotonic() + SECONDS
    while len(workers(process) - before) < 1 or len(workers(process)) < 2:
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert httpx.get(f"{address}/readyz").json() == {"status": "ready"}


def test_workers_do_not_outlive_their_supervisor(served):
    process, _, _ = served
    children = workers(process)
    process.kill()
    deadline = time.monotonic() + SECONDS
    while any(Path(f"/proc/{pid}").exists() for pid in children):
        assert time.monotonic() < deadline
        time.sleep(0.1)


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_with_a_line_and_no_traceback(served, stop):
    process, address, _ = served
    assert httpx.get(f"{address}/healthz").status_code == 200
    children = workers(process)
    process.send_signal(stop)
    _, errors = process.communicate(timeout=SECONDS)
    assert (process.returncode, errors) == (0, "coilgap: stopped.\n")
    assert not any(Path(f"/proc/{pid}").exists() for pid in children)


def test_an_embedded_database_has_one_process(tmp_path):
    ended = run(f"sqlite:///{tmp_path / 'one.sqlite3'}", "--workers", "2")
    assert (ended.returncode, ended.stdout) == (1, "")
    assert re.fullmatch(r"coilgap: --workers 2 needs a PostgreSQL database, .*COILGAP_DATABASE_URL.*\n", ended.stderr)


def test_what_is_in_the_way_is_told_once(postgres_url):
    ended = run(postgres_url, "serve", "--workers", "3")
    assert (ended.returncode, ended.stdout) == (1, "")
    assert re.fullmatch(r"coilgap: The database's tables are at nothing yet.*\n", ended.stderr)


@pytest.mark.parametrize("number", ["0", "-1", "many", "65"])
def test_a_number_of_workers_that_cannot_be_is_refused(tmp_path, number):
    ended = run(f"sqlite:///{tmp_path / 'one.sqlite3'}", f"--workers={number}")
    assert ended.returncode == 2
    assert "expected a whole number from 1 to 64" in ended.stderr
