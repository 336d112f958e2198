"""The command line, as a process of its own: starting, refusing to start, and stopping."""

import json
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest

from service.catalogue.upgrade import newest_revision
from service.commands.serve import _listen
from service.settings import Settings

ROOT = Path(__file__).parents[1]
SECONDS = 30


def environment(tmp_path, **settings):
    inherited = {name: value for name, value in os.environ.items() if not name.startswith("COILGAP_")}
    database = {"COILGAP_DATABASE_URL": f"sqlite:///{tmp_path / 'main.sqlite3'}", "COILGAP_PORT": "0"}
    return {**inherited, **database, **{f"COILGAP_{name}": value for name, value in settings.items()}}


def run(tmp_path, *arguments, **settings):
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        cwd=ROOT, env=environment(tmp_path, **settings), capture_output=True, text=True, timeout=SECONDS, check=False,
    )  # fmt: skip


@pytest.fixture
def serve(tmp_path):
    """Starts the service and gives its process, its address and the line that said so."""
    started = []

    def start(**settings):
        process = subprocess.Popen(
            [sys.executable, "-m", "service"],
            cwd=ROOT, env=environment(tmp_path, **settings), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        started.append(process)
        line = process.stdout.readline()
        return process, re.search(r"http://[^ ]+", line)[0], line

    yield start
    for process in started:
        process.kill()
        process.communicate()


@pytest.mark.parametrize("path", ["/v1/parts", "/counter", "/healthz", "/docs"])
def test_without_keys_it_answers_to_its_own_names_alone(serve, path):
    _, address, _ = serve()
    port = address.rpartition(":")[2]
    for name in (f"localhost:{port}", f"127.0.0.1:{port}", f"[::1]:{port}", "till.localhost"):
        assert httpx.get(f"{address}{path}", headers={"Host": name}).status_code == 200
    with socket.create_connection(("127.0.0.1", int(port))) as nameless:
        nameless.sendall(f"GET {path} HTTP/1.0\r\n\r\n".encode())
        assert nameless.makefile("rb").readline().split()[1] == b"200"
    refused = httpx.get(f"{address}{path}", headers={"Host": f"shop.example:{port}"})
    assert refused.status_code == 421
    assert refused.json()["type"] == "/problems/host-unknown"
    assert "shop.example" in refused.json()["detail"]


def test_with_keys_it_answers_under_any_name(serve, tmp_path):
    assert run(tmp_path, "keys", "issue", "till").returncode == 0
    _, address, _ = serve(KEYS="required")
    assert httpx.get(f"{address}/v1/parts", headers={"Host": "shop.example"}).status_code == 401
    assert httpx.get(f"{address}/healthz", headers={"Host": "shop.example"}).status_code == 200


def test_whoever_asks_for_a_web_socket_is_answered_as_anybody(serve, tmp_path):
    assert run(tmp_path, "keys", "issue", "till").returncode == 0
    _, address, _ = serve(KEYS="required")
    upgrade = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13"}
    answer = httpx.get(f"{address}/v1/parts", headers={**upgrade, "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="})
    assert answer.status_code == 401
    assert answer.headers["content-type"] == "application/problem+json"


def test_it_migrates_loads_the_demo_and_says_where_it_serves(serve, tmp_path):
    _, address, line = serve()
    assert re.fullmatch(r"coilgap [0-9.]+ serves http://127\.0\.0\.1:\d+ \(operations: /docs; stop: Ctrl-C\)\n", line)
    assert httpx.get(f"{address}/healthz").json() == {"status": "ok"}
    assert httpx.get(f"{address}/readyz").json() == {"status": "ready"}
    assert len(httpx.get(f"{address}/v1/parts?limit=200").json()["items"]) >= 25
    with sqlite3.connect(tmp_path / "main.sqlite3") as database:
        assert database.execute("SELECT version_num FROM alembic_version").fetchall() == [(newest_revision(),)]
    database.close()


@pytest.mark.parametrize("inherited", [signal.default_int_handler, signal.SIG_IGN], ids=["shell", "background"])
def test_an_interrupt_is_told_in_one_line_also_where_a_shell_has_it_ignored(serve, inherited):
    before = signal.signal(signal.SIGINT, inherited)
    try:
        process, address, _ = serve()
    finally:
        signal.signal(signal.SIGINT, before)
    assert httpx.get(f"{address}/healthz").status_code == 200
    process.send_signal(signal.SIGINT)
    assert process.communicate(timeout=SECONDS) == ("", "coilgap: stopped.\n")
    assert process.returncode == 0


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_with_a_line_and_no_traceback(serve, stop):
    process, address, _ = serve()
    assert httpx.get(f"{address}/healthz").status_code == 200
    process.send_signal(stop)
    _, errors = process.communicate(timeout=SECONDS)
    assert (process.returncode, errors) == (0, "coilgap: stopped.\n")


def test_without_the_demo_the_catalogue_is_empty_and_a_second_start_keeps_what_is_there(serve):
    process, address, _ = serve(DEMO="false")
    assert httpx.get(f"{address}/v1/parts").json()["items"] == []
    created = httpx.post(f"{address}/v1/vehicles", json={"vehicle_id": "kept", "name": "Kept over a restart"})
    assert created.status_code == 201
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=SECONDS)
    _, address, _ = serve(DEMO="true")
    assert [item["vehicle_id"] for item in httpx.get(f"{address}/v1/vehicles").json()["items"]] == ["kept"]
    assert httpx.get(f"{address}/v1/parts").json()["items"] == []


def test_a_taken_port_gives_one_clear_line(tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        ended = run(tmp_path, PORT=port)
    assert ended.returncode == 1
    assert re.fullmatch(rf"coilgap: Cannot listen on 127\.0\.0\.1, port {port}: .+ COILGAP_PORT\.\n", ended.stderr)
    assert ended.stdout == ""


def test_a_port_is_taken_as_soon_as_the_first_of_two_has_begun(tmp_path):
    """As if both had begun at once: the first one does not answer yet."""
    with _listen(Settings(port=0)) as listener:
        ended = run(tmp_path, PORT=str(listener.getsockname()[1]))
    assert ended.returncode == 1
    assert re.fullmatch(r"coilgap: Cannot listen on 127\.0\.0\.1, port .+: Address already in use\. .+\n", ended.stderr)


@pytest.mark.parametrize("host", ["nix.invalid", "192.0.2.1"])
def test_an_address_that_is_not_ours_is_told_as_such(tmp_path, host):
    ended = run(tmp_path, HOST=host)
    assert ended.returncode == 1
    assert ended.stderr.startswith(f"coilgap: Cannot listen on {host}, port 0: ")
    assert ended.stderr.endswith("Choose another address with COILGAP_HOST.\n")


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"HOST": "0.0.0.0"}, "python -m service keys issue"),  # noqa: S104 — that is what is tested
        ({"PORT": "http"}, "COILGAP_PORT='http'"),
        ({"PROT": "8000"}, "COILGAP_PROT is no setting"),
        ({"DATABASE_URL": "sqlite:////no/such/folder/x.sqlite3"}, "The database cannot be opened"),
        ({"DATABASE_URL": "postgresql://nobody@127.0.0.1:9/none"}, "The database cannot be opened"),
    ],
)
def test_it_refuses_to_start_with_one_line(tmp_path, settings, said):
    ended = run(tmp_path, **settings)
    assert ended.returncode == 1
    assert said in ended.stderr
    assert ended.stderr.count("\n") == 1
    assert "Traceback" not in ended.stderr


def test_migrate_makes_the_tables_and_may_be_repeated(tmp_path):
    for _ in range(2):
        ended = run(tmp_path, "migrate")
        assert (ended.returncode, ended.stdout) == (0, f"coilgap: the database is at {newest_revision()}.\n")
    ended = run(tmp_path, "migrate", DATABASE_URL="sqlite:////no/such/folder/x.sqlite3")
    assert ended.returncode == 1
    assert ended.stderr.startswith("coilgap: The database cannot be migrated: ")
    assert ended.stderr.count("\n") == 1


def test_an_unknown_command_is_told_which_there_are(tmp_path):
    ended = run(tmp_path, "server")
    assert ended.returncode == 2
    assert "migrate" in ended.stderr


def test_a_body_over_the_limit_is_refused_by_its_header_and_by_what_comes_in(serve):
    _, address, _ = serve(MAX_BODY_BYTES="1024")
    headers = {"Content-Type": "application/json"}
    declared = httpx.post(f"{address}/v1/evaluations", content=b" " * 1025, headers=headers)
    chunks = (b" " * 100 for _ in range(11))
    chunked = httpx.post(f"{address}/v1/evaluations", content=chunks, headers=headers)
    for answer in (declared, chunked):
        assert answer.status_code == 413
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["type"] == "/problems/body-too-large"
    fitting = httpx.post(f"{address}/v1/evaluations", content=(b" " * 100 for _ in range(10)), headers=headers)
    assert fitting.status_code == 400  # it is read, and is no JSON


def test_a_caller_that_hangs_up_in_the_middle_is_no_event(serve):
    process, address, _ = serve()
    host, port = address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=SECONDS) as connection:
        connection.sendall(b"POST /v1/evaluations HTTP/1.1\r\nHost: x\r\nContent-Length: 50\r\n\r\n{")
    assert httpx.get(f"{address}/healthz").status_code == 200
    process.send_signal(signal.SIGINT)
    assert process.communicate(timeout=SECONDS) == ("", "coilgap: stopped.\n")


def test_on_every_address_it_serves_who_has_a_key_until_it_is_revoked(serve, tmp_path):
    key = run(tmp_path, "keys", "issue", "shop", "--scopes", "evaluate").stdout.strip()
    _, address, _ = serve(HOST="0.0.0.0")  # noqa: S104 — that is what is tested
    parts, bearing = address.replace("0.0.0.0", "127.0.0.1") + "/v1/parts", {"Authorization": f"Bearer {key}"}  # noqa: S104
    assert httpx.get(parts).status_code == 401
    assert httpx.get(parts, headers=bearing).status_code == 200
    assert run(tmp_path, "keys", "revoke", key.split("_")[1]).returncode == 0
    deadline = time.monotonic() + 5
    while httpx.get(parts, headers=bearing).status_code != 401:
        assert time.monotonic() < deadline, "a revoked key still works"
        time.sleep(0.2)


def test_each_request_is_a_line_of_json_where_that_is_asked_for(serve):
    process, address, _ = serve(ACCESS_LOG="true")
    for path in ("/v1/parts/KES-TOP-20", "/v1/parts/none"):
        httpx.get(address + path, headers={"X-Request-Id": "till-7"})
    process.send_signal(signal.SIGINT)
    *lines, last = process.communicate(timeout=SECONDS)[1].splitlines()
    logged = [json.loads(line) for line in lines]
    assert [(line["request_id"], line["route"], line["status"]) for line in logged] == [
        ("till-7", "/v1/parts/{sku}", 200),
        ("till-7", "/v1/parts/{sku}", 404),
    ]
    assert last == "coilgap: stopped."
