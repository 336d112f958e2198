"""When a request is sent again, and when it must not be."""

import asyncio
import time

import httpx
import pytest

from service.client import UnexpectedAnswerError, UnreachableError
from service.client.problems import ConflictError, DatabaseAwayError, StaleRevisionError, TooManyRequestsError

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}}
SPACER = {"name": "Spacer", "supplier": "Invented", "kind": "strut_top_spacer", "thickness_mm": 15}
VERDICT = {
    "id": None,
    "verdict": "clear",
    "action": "sell",
    "headline": "Nothing meets.",
    "checks": [],
    "missing": [],
    "provenance": {},
}


def problem(status, kind, **headers):
    body = {"type": f"/problems/{kind}", "title": "T", "status": status, "detail": "D", "instance": "/"}
    return httpx.Response(status, json=body, headers=headers)


AWAY = problem(503, "database-away")
BUSY = problem(429, "too-many-requests", **{"Retry-After": "2"})
DONE = httpx.Response(201, json=VERDICT)
STORED = httpx.Response(200, json={**SPACER, "revision": 2}, headers={"ETag": '"2"'})
WITHDRAWN = httpx.Response(204)
LOST = httpx.ReadError("the connection was cut")
NEVER_SENT = httpx.ConnectError("nobody listens")


@pytest.fixture
def waits(monkeypatch):
    """The seconds that were waited; none of them really is."""
    waited = []

    async def wait(seconds):
        waited.append(seconds)

    monkeypatch.setattr(time, "sleep", waited.append)
    monkeypatch.setattr(asyncio, "sleep", wait)
    return waited


@pytest.mark.parametrize("first", [AWAY, BUSY, LOST, NEVER_SENT, httpx.ReadTimeout("too slow")])
def test_an_evaluation_is_sent_again_under_the_same_key(against, waits, first):
    client, seen = against(first, DONE)
    assert client.evaluate(QUESTION) == VERDICT
    keys = {request.headers["idempotency-key"] for request in seen}
    assert len(seen) == 2
    assert len(keys) == 1
    assert len(waits) == 1
    assert seen[0].content == seen[1].content


def test_each_evaluation_has_a_key_of_its_own(against):
    client, seen = against(DONE, DONE)
    client.evaluate(QUESTION)
    client.evaluate(QUESTION)
    assert len({request.headers["idempotency-key"] for request in seen}) == 2
    assert all(request.headers["idempotency-key"].startswith('"') for request in seen)


def test_waits_double_and_end(against, waits):
    client, seen = against(*[AWAY] * 4, attempts=4, first_wait_s=1.0)
    with pytest.raises(DatabaseAwayError):
        client.evaluate(QUESTION)
    assert len(seen) == 4
    assert len(waits) == 3
    for wait, full in zip(waits, (1.0, 2.0, 4.0), strict=True):
        assert full / 2 <= wait <= full


def test_no_wait_is_longer_than_agreed(against, waits):
    client, _ = against(*[AWAY] * 9, DONE, attempts=10, first_wait_s=1.0, longest_wait_s=3.0)
    client.evaluate(QUESTION)
    assert max(waits) <= 3.0


def test_retry_after_is_kept_to(against, waits):
    client, _ = against(BUSY, DONE, first_wait_s=0.01)
    client.evaluate(QUESTION)
    assert waits == [2.0]


def test_who_asks_for_more_patience_than_there_is_is_told_on(against, waits):
    client, _ = against(problem(429, "too-many-requests", **{"Retry-After": "3600"}), longest_wait_s=30.0)
    with pytest.raises(TooManyRequestsError) as caught:
        client.evaluate(QUESTION)
    assert caught.value.retry_after_s == 3600
    assert waits == []


def test_a_conflict_is_final_unless_the_service_says_when_to_come_again(against, waits):
    client, _ = against(problem(409, "conflict"))
    with pytest.raises(ConflictError):
        client.evaluate(QUESTION)
    client, _ = against(problem(409, "conflict", **{"Retry-After": "1"}), DONE)
    assert client.evaluate(QUESTION) == VERDICT
    assert len(waits) == 1


@pytest.mark.parametrize("change", ["change", "withdraw"])
class TestChanges:
    def send(self, client, change):
        if change == "change":
            client.parts.change("INV-15", SPACER, '"1"')
        else:
            client.parts.withdraw("INV-15", '"1"')

    @pytest.mark.parametrize("first", [AWAY, BUSY, NEVER_SENT, httpx.ConnectTimeout("nobody yet")])
    def test_is_sent_again_where_nothing_can_have_been_done(self, against, waits, change, first):
        client, seen = against(first, STORED if change == "change" else WITHDRAWN)
        self.send(client, change)
        assert [request.headers["if-match"] for request in seen] == ['"1"', '"1"']
        assert len(waits) == 1

    @pytest.mark.parametrize("first", [LOST, httpx.ReadTimeout("too slow"), httpx.RemoteProtocolError("cut")])
    def test_is_not_sent_again_where_it_may_have_been_done(self, against, waits, change, first):
        client, seen = against(first)
        with pytest.raises(UnreachableError):
            self.send(client, change)
        assert len(seen) == 1
        assert waits == []

    def test_a_stale_revision_is_final(self, against, waits, change):
        client, _ = against(problem(412, "stale-revision"))
        with pytest.raises(StaleRevisionError):
            self.send(client, change)
        assert waits == []


def test_reading_is_sent_again_whatever_happened(against, waits):
    client, seen = against(LOST, AWAY, NEVER_SENT, STORED)
    client.parts.read("INV-15")
    assert len(seen) == 4
    assert len(waits) == 3


@pytest.mark.parametrize(
    "answer",
    [
        httpx.Response(502, text="<h1>Bad Gateway</h1>"),
        httpx.Response(500, content=b"[" * 100_000),
        httpx.Response(404, json={"error": "no"}),
        httpx.Response(302),
    ],
)
def test_an_answer_of_somebody_else_is_told_apart(against, answer):
    client, _ = against(answer)
    with pytest.raises(UnexpectedAnswerError, match=str(answer.status_code)):
        client.evaluate(QUESTION)
