"""Rate limits: how they are stated, what they count, and that a store that is away stops nobody."""

import asyncio
import threading
from contextlib import contextmanager
from dataclasses import replace

import pytest
import redis
from fakeredis import TcpFakeServer
from limits.aio.storage.redis.bridge import RedisBridge

from service.api.rate_limits import RateLimits, TooManyRequestsError
from service.app import create_app
from service.keys.issuing import issue
from service.settings import Settings, StartRefusedError


@pytest.fixture
def limited(settings, new_client):
    """Makes services with limits of their own."""
    return lambda **limits: new_client(create_app(replace(settings, **limits)))


def test_what_is_left_is_stated_with_every_answer_and_429_ends_it(limited):
    client = limited(rate_limit_without_key="3/hour")
    for left in (2, 1, 0):
        answer = client.get("/v1/parts?limit=1")
        assert answer.headers["ratelimit-policy"] == '"default";q=3;w=3600'
        stated, remaining, seconds = answer.headers["ratelimit"].split(";")
        assert (answer.status_code, stated, remaining) == (200, '"default"', f"r={left}")
        assert 3590 <= int(seconds.removeprefix("t=")) <= 3600
    refused = client.get("/v1/parts?limit=1")
    assert refused.status_code == 429
    assert refused.json()["type"] == "/problems/too-many-requests"
    assert 3590 <= int(refused.headers["retry-after"]) <= 3600
    assert refused.headers["ratelimit"].startswith('"default";r=0;t=')


def test_a_window_ends(limited):
    client = limited(rate_limit_without_key="1/second")
    statuses = [client.get("/v1/parts?limit=1").status_code for _ in range(2)]
    assert 429 in statuses
    wait = float(client.get("/v1/parts?limit=1").headers.get("retry-after", 0))
    assert wait <= 1
    threading.Event().wait(1.1)
    assert client.get("/v1/parts?limit=1").status_code == 200


def test_each_key_has_its_own_window(limited):
    client = limited(rate_limit="1/hour", rate_limit_without_key="1/hour")
    with client.app.state.service.database.writing() as connection:
        keys = [issue(connection, "n", ["evaluate"]) for _ in range(2)]
    bearers = [{}, *({"Authorization": f"Bearer {key}"} for key in keys)]
    assert [client.get("/v1/parts", headers=headers).status_code for headers in bearers] == [200, 200, 200]
    assert [client.get("/v1/parts", headers=headers).status_code for headers in bearers] == [429, 429, 429]


def test_what_is_refused_counts_too(limited):
    client = limited(rate_limit="2/hour", rate_limit_without_key="2/hour")
    client.app.state.admission.needs_keys = True
    with client.app.state.service.database.writing() as connection:
        key = issue(connection, "n", ["catalogue"])
    asked = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}}
    for headers, refused in (({}, 401), ({"Authorization": f"Bearer {key}"}, 403)):
        answers = [client.post("/v1/evaluations", asked, headers=headers) for _ in range(3)]
        assert [answer.status_code for answer in answers] == [refused, refused, 429]
        assert [answer.headers["ratelimit"].split(";")[1] for answer in answers] == ["r=1", "r=0", "r=0"]


def test_trying_false_keys_ends_too(limited):
    client = limited(rate_limit_without_key="2/hour")
    false = {"Authorization": "Bearer coilgap_" + "0" * 12 + "_" + "a" * 43}
    assert [client.get("/v1/parts", headers=false).status_code for _ in range(3)] == [401, 401, 429]


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/metrics", "/docs"])
def test_who_watches_the_service_is_not_limited(limited, path):
    client = limited(rate_limit_without_key="1/hour")
    assert [client.get(path).status_code for _ in range(3)] == [200] * 3
    assert "ratelimit" not in client.get(path).headers


def test_a_limit_can_be_off(limited):
    client = limited(rate_limit_without_key="off")
    assert "ratelimit" not in client.get("/v1/parts?limit=1").headers


@contextmanager
def redis_server():
    """A server that speaks Redis. It knows the scripts already: told of an unknown one, it would hang up."""
    server = TcpFakeServer(("127.0.0.1", 0))
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    port = server.server_address[1]
    with redis.Redis(port=port) as keeper:
        for name, script in vars(RedisBridge).items():
            if name.startswith("SCRIPT_"):
                keeper.script_load(script)
    yield f"redis://127.0.0.1:{port}"
    server.shutdown()
    server.server_close()
    thread.join()


def test_several_processes_count_together_in_redis():
    async def count(store):
        limits = [RateLimits(Settings(rate_limit="3/hour", rate_limit_store=store)) for _ in range(2)]
        stated = [(await limits[number % 2].take("a", ""))[1][1].split(b";")[1] for number in range(3)]
        with pytest.raises(TooManyRequestsError):
            await limits[1].take("a", "")
        for each in limits:
            await each.of_keys.store.bridge.storage.aclose()
        return stated

    with redis_server() as store:
        assert asyncio.run(count(store)) == [b"r=2", b"r=1", b"r=0"]


def test_a_store_that_is_away_stops_nobody_and_is_told_once(limited, caplog):
    client = limited(rate_limit_without_key="1/hour", rate_limit_store="redis://127.0.0.1:9")
    assert [client.get("/v1/parts?limit=1").status_code for _ in range(3)] == [200] * 3
    (line,) = [record for record in caplog.records if record.name == "coilgap"]
    assert "the store of the rate limits is away" in line.getMessage()


def test_a_store_without_its_library_is_refused_without_its_password(settings, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "redis", None)
    wanted = replace(settings, rate_limit_store="redis://:hush@127.0.0.1:9")
    with pytest.raises(StartRefusedError, match="COILGAP_RATE_LIMIT_STORE cannot be used") as refusal:
        RateLimits(wanted)
    assert "hush" not in str(refusal.value)
