"""Searches that take their time: how far they are, who waits, and what becomes of one whose process ends."""

import asyncio
import threading
from datetime import UTC, datetime, timedelta

import pytest
from prometheus_client import REGISTRY
from searches import AT_ONCE, LIFT, PATH, PATIENTLY, Gate, found, until_idle
from sqlalchemy import func, select, update
from sqlalchemy.exc import OperationalError

from service.api.prefer import waiting
from service.app import create_app
from service.judging import search_queue
from service.searches import kept
from service.searches.kept import SEARCHES, STALE_S


@pytest.fixture
def gate(monkeypatch):
    gate = Gate(monkeypatch)
    yield gate
    gate.open()


def change(client, search_id, **columns):
    with client.app.state.service.database.writing() as connection:
        connection.execute(update(SEARCHES).where(SEARCHES.c.search_id == search_id).values(**columns))


def ago(seconds):
    return (datetime.now(UTC) - timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%SZ")


def begun(client):
    """The address of a search that is under way, and its id."""
    answer = client.post(PATH, LIFT, headers=AT_ONCE)
    assert answer.status_code == 202, answer.text
    return answer.headers["location"], answer.json()["id"]


def test_a_search_that_takes_long_tells_how_far_it_is_and_is_found_again(client, gate):
    answer = client.post(PATH, {**LIFT, "limit": 2}, headers=AT_ONCE)
    assert answer.status_code == 202
    assert answer.headers["retry-after"] == "1"
    assert answer.headers["preference-applied"] == "wait=0"
    assert (answer.json()["status"], answer.json()["progress"]["of"] > 0) == ("running", True)
    assert gate.reached.wait(30)
    address = answer.headers["location"]
    shown = client.get(address)
    assert (shown.status_code, shown.headers["retry-after"]) == (200, "1")
    body = shown.json()
    assert (body["status"], body["progress"]) == ("running", {"done": 3, "of": 10})
    assert (body["counts"], body["items"], body["near_misses"], body["next"]) == (None, [], [], None)
    gate.open()
    until_idle(client)
    shown = client.get(f"{address}?limit=2")
    assert (shown.json()["status"], len(shown.json()["items"])) == ("done", 2)
    assert "retry-after" not in shown.headers
    assert shown.json()["items"] == found(client, **LIFT)["items"][:2]


def test_the_answer_comes_as_soon_as_the_search_has_ended(client, gate):
    opening = threading.Thread(target=lambda: gate.reached.wait(30) and gate.open())
    opening.start()
    assert client.post(PATH, LIFT, headers=PATIENTLY).status_code == 201
    opening.join()


def test_others_are_answered_meanwhile(client, gate):
    begun(client)
    assert gate.reached.wait(30)
    assert client.evaluate(axle=LIFT["axle"]).status_code == 201


@pytest.mark.parametrize(
    ("lines", "seconds", "applied"),
    [
        ([], 2.0, None),
        (["wait=7"], 7, "wait=7"),
        (["wait=31"], 30, "wait=30"),
        (["respond-async", 'foo; wait=3, WAIT = "5"'], 5, "wait=5"),
        (["respond-async"], 0.0, "respond-async"),
        (["wait=-1"], 2.0, None),
        (["wait"], 2.0, None),
        (["wait=" + "9" * 400], 30, "wait=30"),
        (["wait=1, wait=20"], 1, "wait=1"),
    ],
)
def test_how_long_a_client_will_wait(lines, seconds, applied):
    told = waiting(lines, 2.0, 30)
    assert (told.seconds, told.applied) == (seconds, applied)


def test_where_too_many_wait_nothing_is_begun(client, gate, monkeypatch):
    monkeypatch.setattr(search_queue, "MOST_AT_ONCE", 2)
    for _ in range(2):
        begun(client)
    answer = client.post(PATH, LIFT)
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/searches-busy")
    assert answer.headers["retry-after"] == "5"
    assert rows(client) == 2
    gate.open()
    until_idle(client)
    assert client.post(PATH, LIFT, headers=PATIENTLY).status_code == 201


def test_whatever_becomes_of_a_search_is_counted(client, monkeypatch):
    before = {outcome: counted(outcome) for outcome in ("failed", "turned_away", "interrupted")}
    with monkeypatch.context() as patched:
        patched.setattr(search_queue, "search", lambda *_: 1 / 0)
        client.post(PATH, LIFT, headers=PATIENTLY)
    with monkeypatch.context() as patched:
        patched.setattr(search_queue, "MOST_AT_ONCE", 0)
        client.post(PATH, LIFT)
    gate = Gate(monkeypatch)
    begun(client)
    assert gate.reached.wait(30)
    client.app.state.service.searches.close()
    assert {outcome: counted(outcome) - times for outcome, times in before.items()} == dict.fromkeys(before, 1)


def counted(outcome):
    return REGISTRY.get_sample_value("coilgap_searches_total", {"outcome": outcome}) or 0


def rows(client):
    with client.app.state.service.database.reading() as connection:
        return connection.execute(select(func.count()).select_from(SEARCHES)).scalar()


def test_a_search_whose_service_ends_is_told_as_interrupted(settings, new_client, gate):
    client = new_client(create_app(settings))
    address, _ = begun(client)
    assert gate.reached.wait(30)
    client.app.state.service.close()
    after = new_client(create_app(settings)).get(address)
    assert after.status_code == 200
    is_told_as_interrupted(after.json())


def is_told_as_interrupted(body):
    assert (body["status"], body["counts"], body["items"]) == ("failed", None, [])
    assert (body["problem"]["type"], body["problem"]["status"]) == ("/problems/search-interrupted", 503)
    assert "ask again" in body["problem"]["detail"]
    assert body["problem"]["instance"].endswith(body["id"])


def test_a_search_that_gives_no_sign_of_life_has_died(client, settings, new_client, gate):
    address, search_id = begun(client)
    assert gate.reached.wait(30)
    other = new_client(create_app(settings))
    assert other.get(address).json()["status"] == "running"
    change(client, search_id, heartbeat=ago(STALE_S + 5))
    is_told_as_interrupted(other.get(address).json())
    assert client.get(address).json()["status"] == "running"  # it is here, and so nobody need look for its pulse


def test_signs_of_life_are_given_and_progress_with_them(settings, new_client, gate, monkeypatch):
    monkeypatch.setattr(search_queue, "BEAT_EVERY_S", 0.01)
    beaten, beat = threading.Event(), kept.beat
    client, other = (new_client(create_app(settings)) for _ in range(2))
    address, search_id = begun(client)
    assert gate.reached.wait(30)
    change(client, search_id, heartbeat=ago(STALE_S + 5))

    def beat_and_tell(connection, under_way):
        beat(connection, under_way)
        told.append(under_way)
        if len(told) > 1:  # the one before is in the database
            beaten.set()

    told = []
    monkeypatch.setattr(kept, "beat", beat_and_tell)
    assert beaten.wait(30)
    body = other.get(address).json()
    assert (body["status"], body["progress"]) == ("running", {"done": 3, "of": 10})


@pytest.mark.usefixtures("gate")
def test_the_pulse_goes_on_after_the_database_was_away(client, monkeypatch):
    monkeypatch.setattr(search_queue, "BEAT_EVERY_S", 0.01)
    beaten, beat, failures = threading.Event(), kept.beat, []

    def away_at_first(connection, under_way):
        if not failures:
            failures.append(under_way)
            raise OperationalError("UPDATE", {}, Exception("away"))
        beat(connection, under_way)
        beaten.set()

    monkeypatch.setattr(kept, "beat", away_at_first)
    begun(client)
    assert beaten.wait(30)
    assert failures


def test_a_fault_of_the_service_fails_one_search_and_no_other(client, monkeypatch, caplog):
    with monkeypatch.context() as patched:
        patched.setattr(search_queue, "search", lambda *_: 1 / 0)
        answer = client.post(PATH, LIFT, headers=PATIENTLY)
    body = answer.json()
    assert (answer.status_code, body["status"], body["problem"]["type"]) == (201, "failed", "/problems/server-fault")
    assert "ZeroDivisionError" not in answer.text
    assert body["id"] in caplog.text
    assert found(client, **LIFT)["items"]


def test_what_was_found_is_kept_as_soon_as_the_database_is_back(client, monkeypatch):
    monkeypatch.setattr(search_queue, "WAITS_S", (0.0, 0.0))
    attempts, end = [], kept.end

    def away_at_first(*arguments):
        attempts.append(arguments)
        if len(attempts) < 3:
            raise OperationalError("UPDATE", {}, Exception("away"))
        end(*arguments)

    monkeypatch.setattr(kept, "end", away_at_first)
    assert found(client, **LIFT)["items"]
    assert len(attempts) == 3


def test_what_cannot_be_kept_is_told_as_interrupted_in_the_end(client, monkeypatch):
    def away(*_):
        raise OperationalError("UPDATE", {}, Exception("away"))

    monkeypatch.setattr(search_queue, "WAITS_S", ())
    monkeypatch.setattr(kept, "end", away)
    answer = client.post(PATH, LIFT, headers=PATIENTLY)
    assert (answer.status_code, answer.json()["status"]) == (202, "running")
    change(client, answer.json()["id"], heartbeat=ago(STALE_S + 5))
    is_told_as_interrupted(client.get(answer.headers["location"]).json())


def test_a_search_is_kept_for_a_day(client):
    body = found(client, **LIFT)
    asked, expires = (datetime.fromisoformat(body[name]) for name in ("asked_at", "expires_at"))
    assert timedelta(hours=24) <= expires - asked <= timedelta(hours=24, seconds=1)
    address = f"{PATH}/{body['id']}"
    assert client.get(address).status_code == 200
    change(client, body["id"], expires_at=ago(0))
    answer = client.get(address)
    assert (answer.status_code, answer.json()["type"]) == (404, "/problems/not-found")
    assert rows(client) == 1
    found(client, **LIFT)
    assert rows(client) == 1


def test_a_search_outlives_its_service(settings, new_client):
    first = new_client(create_app(settings))
    body = found(first, **LIFT)
    first.app.state.service.close()
    assert new_client(create_app(settings)).get(f"{PATH}/{body['id']}?limit=200").json() == body


def test_a_search_under_a_key_is_made_once(client):
    key = {"Idempotency-Key": '"one-search"', **PATIENTLY}
    first, again = (client.post(PATH, LIFT, headers=key) for _ in range(2))
    assert first.status_code == 201
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["location"] == first.headers["location"]
    assert rows(client) == 1
    other = client.post(PATH, {**LIFT, "limit": 3}, headers=key)
    assert (other.status_code, other.json()["type"]) == (422, "/problems/idempotency-key-reused")


def test_under_a_key_where_the_first_answer_was_lost_is_told_where_to_look(settings, new_client, gate):
    """The process dies while the first one waits; the repeat is shown the search that was begun, and begins none."""
    client = new_client(create_app(settings))
    key = {"Idempotency-Key": '"lost"', **AT_ONCE}
    first = client.post(PATH, LIFT, headers=key)
    assert first.status_code == 202
    assert gate.reached.wait(30)
    client.app.state.service.close()
    after = new_client(create_app(settings))
    again = after.post(PATH, LIFT, headers=key)
    assert (again.status_code, again.headers["location"]) == (202, first.headers["location"])
    assert rows(after) == 1
    is_told_as_interrupted(after.get(again.headers["location"]).json())


def test_twins_in_two_processes_make_one_search(settings, new_client, gate):
    """Both find nothing kept; the one that comes to its row later takes its own work back."""
    client, other = (new_client(create_app(settings)) for _ in range(2))
    key = {"Idempotency-Key": '"twins"', **AT_ONCE}
    from service.api import searches as module  # noqa: PLC0415

    prepare, answers = module.prepare, []

    def overtaken(*arguments):
        module.prepare = prepare
        worker = threading.Thread(target=lambda: answers.append(asyncio.run(_posted(other, key))))
        worker.start()
        worker.join()
        return prepare(*arguments)

    module.prepare = overtaken
    try:
        late = client.post(PATH, LIFT, headers=key)
    finally:
        module.prepare = prepare
    assert [late.status_code, answers[0].status_code] == [202, 202]
    assert late.headers["location"] == answers[0].headers["location"]
    assert rows(client) == 1
    assert client.app.state.service.searches.progress(late.json()["id"]) is None
    gate.open()
    until_idle(other)


async def _posted(client, headers):
    import httpx  # noqa: PLC0415

    async with httpx.AsyncClient(
        transport=httpx.ASGITransport(app=client.app), base_url="http://service.test"
    ) as caller:
        return await caller.post(PATH, json=LIFT, headers=headers)
