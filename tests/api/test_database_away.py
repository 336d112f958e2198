"""A server database that goes away and comes back: 503 meanwhile, no restart of the service, nothing lost."""

import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import httpx
import psycopg
import pytest
from real_server import serving
from sqlalchemy import text
from throwaway_postgres import AT_ONCE, FAST, running_server

from service.api.demo import load_demo
from service.app import create_app
from service.catalogue.upgrade import migrate
from service.database import CONNECT_TIMEOUT_S, THERE_S, Database
from service.ledger.verification import verify
from service.settings import Settings

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [{"sku": "KES-TOP-20"}]}
PART = "/v1/parts/KES-TOP-20"
CALLERS = 6
SECONDS_TO_TELL = 2 * (THERE_S + CONNECT_TIMEOUT_S) + 8
"""In which a server that stands still is told away, far sooner than its statements may take: two connections are tried
and two more are not to be had; the rest is for a machine that is busy.
"""


@pytest.fixture(scope="module")
def server():
    """One that these tests may stop."""
    with running_server() as server:
        yield server


@pytest.fixture
def url(server):
    """A new database on it, with the demo catalogue."""
    name = f"away_{time.monotonic_ns()}"
    with psycopg.connect(f"{server.address}/postgres", autocommit=True) as keeper:
        keeper.execute(f"CREATE DATABASE {name}")
    url = f"{server.address}/{name}"
    migrate(url)
    with closing(Database(url)) as database:
        load_demo(database)
    return url


@pytest.fixture
def settings(url):
    return Settings(database_url=url, database_timeout_s=2)


def requests(client):
    spacer = {"name": "Spacer", "supplier": "Invented Works", "kind": "strut_top_spacer", "thickness_mm": 15}
    return {
        "evaluate": lambda: client.evaluate(**QUESTION),
        "evaluate, not kept": lambda: client.evaluate(**QUESTION, record=False),
        "records": lambda: client.get("/v1/evaluations"),
        "part": lambda: client.get(PART),
        "parts": lambda: client.get("/v1/parts"),
        "add": lambda: client.post("/v1/parts", {**spacer, "sku": "INV-TOP-15"}),
        "change": lambda: client.put(PART, spacer, headers={"If-Match": "*"}),
        "withdraw": lambda: client.delete("/v1/parts/KES-SPR-4030", headers={"If-Match": "*"}),
        "ready": lambda: client.get("/readyz"),
    }


@pytest.mark.parametrize("how", [FAST, AT_ONCE], ids=["stopped", "killed"])
def test_everything_is_503_until_it_is_back_and_works_without_a_restart(server, new_client, settings, how):
    client = new_client(create_app(settings))
    before = client.evaluate(**QUESTION)
    server.stop(how)
    try:
        for _ in range(2):  # the first time over connections that were open, then without any
            for name, request in requests(client).items():
                answer = request()
                assert (name, answer.status_code) == (name, 503)
                assert answer.json()["type"] == "/problems/database-away"
                assert int(answer.headers["retry-after"]) > 0
        assert client.get("/healthz").status_code == 200
    finally:
        server.start()
    assert {name: request().status_code for name, request in requests(client).items()} == {
        "evaluate": 201,
        "evaluate, not kept": 200,
        "records": 200,
        "part": 200,
        "parts": 200,
        "add": 201,
        "change": 200,
        "withdraw": 204,
        "ready": 200,
    }
    assert client.get(before.headers["location"]).content == before.content


SPACER = {"name": "Spacer", "supplier": "Invented Works", "kind": "strut_top_spacer", "thickness_mm": 15}
ASKED = [
    ("POST", "/v1/evaluations", QUESTION, 201),
    ("POST", "/v1/evaluations", {**QUESTION, "record": False}, 200),
    ("POST", "/v1/evaluations/batch", {"requests": [QUESTION]}, 200),
    ("GET", "/v1/evaluations", None, 200),
    ("GET", PART, None, 200),
    ("PUT", PART, SPACER, 200),
    ("GET", "/readyz", None, 200),
]


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="looks for the server's processes in /proc")
def test_a_server_that_stands_still_is_503_in_time_and_works_when_it_goes_on(server, url):
    settings = Settings(database_url=url, database_timeout_s=30)

    def ask(method, path, body, _expected):
        answer = httpx.request(method, address + path, json=body, headers={"If-Match": "*"}, timeout=60)
        return answer.status_code, answer.headers.get("retry-after"), answer.elapsed.total_seconds()

    with serving(create_app(settings)) as address, ThreadPoolExecutor(len(ASKED)) as threads:
        assert [ask(*each)[0] for each in ASKED] == [status for *_, status in ASKED]
        with server.standing_still():
            for _ in range(2):  # the first time over connections that were open, then without any
                answers = list(threads.map(lambda each: ask(*each), ASKED))
                assert [(status, again) for status, again, _ in answers] == [(503, "5")] * len(ASKED)
                assert max(seconds for *_, seconds in answers) < SECONDS_TO_TELL
            assert ask("GET", "/healthz", None, 200)[0] == 200
        assert [ask(*each)[0] for each in ASKED] == [status for *_, status in ASKED]


def test_a_long_answer_is_waited_for_as_long_as_the_server_goes_on(url):
    with closing(Database(url, timeout_s=1)) as database, database.writing() as connection:
        pauses = [{"seconds": 0.4}] * 10
        connection.execute(text("SELECT pg_sleep(:seconds), repeat('x', 10000)"), pauses)


def test_a_server_that_dies_under_load_takes_no_acknowledged_record_with_it(server, settings):
    acknowledged, statuses = {}, set()

    def ask(address, until):
        with httpx.Client(base_url=address, timeout=30) as caller:
            while time.monotonic() < until:
                answer = caller.post("/v1/evaluations", json=QUESTION)
                statuses.add(answer.status_code)
                if answer.status_code == 201:
                    acknowledged[answer.headers["location"]] = answer.content

    with serving(create_app(settings)) as address:
        with ThreadPoolExecutor(CALLERS) as threads:
            until = time.monotonic() + 3
            for _ in range(CALLERS):
                threads.submit(ask, address, until)
            for _ in range(2):
                time.sleep(0.5)
                server.stop(AT_ONCE)
                server.start()
        assert statuses == {201, 503}
        with httpx.Client(base_url=address) as caller:
            for location, body in acknowledged.items():
                assert caller.get(location).content == body
    with closing(Database(settings.database_url)) as database, database.snapshot() as connection:
        verified = verify(connection)
    assert verified.flaws == ()
    assert verified.records >= len(acknowledged) > 0


@pytest.fixture
def held_head(url):
    """Somebody holds the ledger's head and does not let go."""
    with psycopg.connect(url) as other:
        other.execute("SELECT * FROM ledger_head FOR UPDATE")
        yield other


def test_a_lock_that_is_not_let_go_of_is_503_in_time(held_head, new_client, settings):
    client = new_client(create_app(settings))
    began = time.monotonic()
    answer = client.evaluate(**QUESTION)
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "5")
    assert settings.database_timeout_s <= time.monotonic() - began < settings.database_timeout_s + 3
    assert client.evaluate(**QUESTION, record=False).status_code == 200
    held_head.rollback()
    assert client.evaluate(**QUESTION).status_code == 201


def test_a_pool_with_no_connection_free_is_503_in_time(new_client, url):
    client = new_client(create_app(Settings(database_url=url, database_pool=2, database_timeout_s=1)))
    engine = client.app.state.service.database.engine
    with engine.connect(), engine.connect():
        began = time.monotonic()
        assert client.get(PART).status_code == 503
        assert time.monotonic() - began < 4
    assert client.get(PART).status_code == 200


def test_connections_are_no_more_than_the_setting_says(url, server):
    with serving(create_app(Settings(database_url=url, database_pool=3))) as address:
        with ThreadPoolExecutor(12) as threads, httpx.Client(base_url=address) as caller:
            assert {answer.status_code for answer in threads.map(lambda _: caller.get(PART), range(60))} == {200}
        with psycopg.connect(f"{server.address}/postgres") as keeper:
            (count,) = keeper.execute(
                "SELECT count(*) FROM pg_stat_activity WHERE application_name = 'coilgap' AND datname = %s",
                [url.rsplit("/", 1)[1]],
            ).fetchone()
    assert count <= 3 + 1  # the one that asks for the catalogue's counter is kept apart
