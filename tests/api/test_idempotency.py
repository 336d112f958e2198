"""Safe retries: a POST under an Idempotency-Key is done once, whatever happens in between."""

import asyncio
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import httpx
import pytest
from sqlalchemy import event, text
from sqlalchemy.exc import OperationalError

from service.app import create_app
from service.keys.issuing import issue

AXLE = {"vehicle": "tarn-300-double-cab", "end": "front"}
QUESTION = {"axle": AXLE, "parts": [{"sku": "KES-TOP-20"}]}
SPACER = {"sku": "INV-15", "name": "N", "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 15}
VEHICLE = {"vehicle_id": "sallow-2", "name": "Sallow"}
POSTS = [
    ("/v1/evaluations", QUESTION, 201),
    ("/v1/evaluations", {**QUESTION, "record": False}, 200),
    ("/v1/evaluations/batch", {"requests": [QUESTION, {**QUESTION, "record": False}, {}]}, 200),
    ("/v1/parts", SPACER, 201),
    ("/v1/vehicles", VEHICLE, 201),
]
ANEW = {"x-request-id", "ratelimit"}


def keyed(key='"8e03978e-40d5-43e8-bc93-6894a57f9324"', **more):
    return {"Idempotency-Key": key, **more}


def lasting(answer):
    return {name: value for name, value in answer.headers.items() if name not in ANEW}


def records(client):
    with client.app.state.service.database.reading() as connection:
        return connection.execute(text("SELECT count(*) FROM evaluation")).scalar()


def kept(client):
    with client.app.state.service.database.reading() as connection:
        return connection.execute(text("SELECT count(*) FROM first_answer")).scalar()


@pytest.mark.parametrize(("path", "body", "status"), POSTS)
def test_the_same_request_again_gets_the_first_answer(client, path, body, status):
    first = client.post(path, body, headers=keyed())
    before = records(client)
    again = client.post(path, body, headers=keyed())
    assert (first.status_code, again.status_code) == (status, status)
    assert (again.content, lasting(again)) == (first.content, lasting(first))
    assert records(client) == before


@pytest.mark.parametrize(("path", "body", "status"), POSTS)
def test_another_request_under_the_key_is_refused(client, path, body, status):
    assert client.post(path, body, headers=keyed()).status_code == status
    other = client.post(path, {**body, "name": "Another"}, headers=keyed())
    assert other.status_code == 422
    assert other.json()["type"] == "/problems/idempotency-key-reused"
    assert other.json()["errors"][0]["parameter"] == "Idempotency-Key"


def test_another_address_under_the_key_is_another_request(client):
    assert client.post("/v1/evaluations", QUESTION, headers=keyed()).status_code == 201
    assert client.post("/v1/evaluations/batch", QUESTION, headers=keyed()).status_code == 422


def test_without_a_key_each_request_is_new(client):
    assert client.post("/v1/evaluations", QUESTION).content != client.post("/v1/evaluations", QUESTION).content
    assert kept(client) == 0


@pytest.mark.parametrize(
    ("one", "other"), [('"abc"', "abc"), ('"a \\"b\\" \\\\"', '"a \\"b\\" \\\\"'), ("a-1:b/c", '"a-1:b/c"')]
)
def test_a_key_is_its_text_with_or_without_quotes(client, one, other):
    first = client.post("/v1/evaluations", QUESTION, headers=keyed(one))
    assert client.post("/v1/evaluations", QUESTION, headers=keyed(other)).content == first.content


@pytest.mark.parametrize("key", ["", '"', '""', '"a', 'a"b"', "two words", '"a\\b"', "a,b", "a;b", '"å"', "x" * 256])
def test_what_is_no_key_is_refused(client, key):
    answer = client.post("/v1/evaluations", QUESTION, headers=keyed(key.encode()))
    assert (answer.status_code, answer.json()["type"]) == (400, "/problems/idempotency-key-malformed")
    assert records(client) == 0


def test_two_keys_at_once_are_refused(client):
    headers = [("Idempotency-Key", "a"), ("Idempotency-Key", "b")]
    assert client.post("/v1/evaluations", QUESTION, headers=headers).status_code == 400


def test_a_key_is_its_callers_own(settings, app, new_client):
    with app.state.service.database.writing() as connection:
        one, other = (issue(connection, name, ["evaluate"]) for name in ("one", "other"))
    app.state.service.close()
    client = new_client(create_app(replace(settings, keys="required")))
    answers = [
        client.post("/v1/evaluations", QUESTION, headers=keyed(Authorization=f"Bearer {key}"))
        for key in (one, other, one)
    ]
    assert answers[0].content == answers[2].content != answers[1].content


def test_what_was_refused_has_changed_nothing_and_may_be_put_right(client):
    assert client.post("/v1/parts", {**SPACER, "thickness_mm": -1}, headers=keyed()).status_code == 422
    assert client.send_text("{").status_code == 400
    assert client.post("/v1/parts", SPACER, headers=keyed()).status_code == 201
    assert client.post("/v1/parts", SPACER).status_code == 409
    assert client.post("/v1/parts", SPACER, headers=keyed()).status_code == 201


def test_after_a_day_a_key_is_new(client):
    first = client.post("/v1/evaluations", QUESTION, headers=keyed())
    with client.app.state.service.database.writing() as connection:
        connection.execute(text("UPDATE first_answer SET answered_at = '2026-01-01T00:00:00Z'"))
    second = client.post("/v1/evaluations", QUESTION, headers=keyed())
    assert first.content != second.content
    assert client.post("/v1/evaluations", QUESTION, headers=keyed()).content == second.content
    assert kept(client) == 1


def test_what_is_a_day_old_is_removed_in_time(client):
    client.post("/v1/evaluations", QUESTION, headers=keyed("old"))
    with client.app.state.service.database.writing() as connection:
        connection.execute(text("UPDATE first_answer SET answered_at = '2026-01-01T00:00:00Z'"))
    client.app.state.service.turns._forget_at = 0.0
    client.post("/v1/evaluations", QUESTION, headers=keyed("new"))
    assert kept(client) == 1


@pytest.mark.parametrize(("path", "body", "status"), POSTS)
def test_the_answer_is_kept_in_the_very_transaction_or_nothing_is_done(client, path, body, status):
    """The database fails when the answer is to be kept: as if the process had died there."""
    engine = client.app.state.service.database.engine

    def die(_connection, _cursor, statement, *_):
        if "first_answer" in statement and statement.startswith("INSERT"):
            raise OperationalError(statement, {}, Exception("the server closed the connection"))

    event.listen(engine, "before_cursor_execute", die)
    assert client.post(path, body, headers=keyed()).status_code == 503
    event.remove(engine, "before_cursor_execute", die)
    assert (records(client), kept(client)) == (0, 0)
    assert client.post(path, body, headers=keyed()).status_code == status
    assert records(client) == (1 if (status == 201 and "evaluations" in path) or "batch" in path else 0)


@pytest.mark.parametrize(("path", "body", "status"), POSTS)
def test_many_at_once_are_answered_alike_and_done_once(client, app, path, body, status):
    async def all_at_once():
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url="http://service.test") as caller:
            return await asyncio.gather(*(caller.post(path, json=body, headers=keyed()) for _ in range(20)))

    answers = asyncio.run(all_at_once())
    assert {answer.status_code for answer in answers} == {status}
    assert len({answer.content for answer in answers}) == 1
    assert records(client) <= 1


@pytest.mark.parametrize(("path", "body", "status"), POSTS)
def test_two_processes_that_get_it_at_once_do_it_once(settings, new_client, path, body, status):
    """Two services on one database, each in a thread with an event loop of its own: nothing is shared but the rows."""
    clients = [new_client(create_app(settings)) for _ in range(2)]
    for client in clients:
        client.get("/no-such-address")  # the framework prepares its routes at the first request, one app at a time
    for number in range(5):
        one, other = sent_together(clients, path, renamed(body, number), keyed(f'"{number}"'))
        assert (one.status_code, other.status_code) == (status, status)
        assert one.content == other.content
    recorded = (path.startswith("/v1/evaluations") and status == 201) or "batch" in path
    assert records(clients[0]) == (5 if recorded else 0)
    assert kept(clients[0]) == 5


def sent_together(clients, path, body, headers):
    told = threading.Barrier(len(clients))

    def send(client):
        told.wait()
        return client.post(path, body, headers=headers)

    with ThreadPoolExecutor(len(clients)) as threads:
        return threads.map(send, clients)


def renamed(body, number):
    name = next((name for name in ("sku", "vehicle_id") if name in body), None)
    return body if name is None else {**body, name: f"{body[name]}-{number}"}
