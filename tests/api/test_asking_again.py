"""The same request again: answered without the engine, and never from what is not in force any more."""

import json
from copy import deepcopy

import pytest
from sqlalchemy import text

from service.judging import together

TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
SPACER = "KES-TOP-20"
ASKED = {"axle": TARN, "parts": [{"sku": SPACER}, {"sku": "KES-SPR-4030"}], "load": {"occupants_kg": 150}}


@pytest.fixture
def judged(monkeypatch):
    """How many builds the engine has judged."""
    seen, evaluate = [], together.evaluate

    def counting(builds):
        seen.extend(builds)
        return evaluate(builds)

    monkeypatch.setattr(together, "evaluate", counting)
    return seen


def without_identity(record):
    record = deepcopy(record)
    del record["id"], record["provenance"]["evaluated_at"]
    return record


def change(client, sku=SPACER, **changes):
    """A new revision of a part; read-only fields of what was read are taken no notice of."""
    stored = client.get(f"/v1/parts/{sku}")
    answer = client.put(f"/v1/parts/{sku}", {**stored.json(), **changes}, headers={"If-Match": stored.headers["etag"]})
    assert answer.status_code == 200
    return answer.json()["revision"]


def test_the_engine_is_asked_once_for_the_same_request(client, judged):
    answers = [client.evaluate(**ASKED, record=False) for _ in range(3)]
    assert len(judged) == 1
    assert {answer.status_code for answer in answers} == {200}
    assert {answer.json()["id"] for answer in answers} == {None}
    first, *others = [without_identity(answer.json()) for answer in answers]
    assert others == [first, first]


def test_each_recorded_answer_is_a_record_of_its_own(client, judged):
    answers = [client.evaluate(**ASKED) for _ in range(3)]
    assert len(judged) == 1
    ids = [answer.json()["id"] for answer in answers]
    assert len(set(ids)) == 3
    assert [item["id"] for item in client.get("/v1/evaluations").json()["items"]] == ids[::-1]
    for answer in answers:
        assert client.get(answer.headers["location"]).content == answer.content
        assert without_identity(answer.json()) == without_identity(answers[0].json())


def test_recorded_and_unrecorded_are_two_requests(client):
    assert client.evaluate(**ASKED).status_code == 201
    assert client.evaluate(**ASKED, record=False).status_code == 200
    assert client.evaluate(**ASKED).status_code == 201
    assert len(client.get("/v1/evaluations").json()["items"]) == 2


def test_a_new_revision_of_a_part_is_used_at_once(client, judged):
    before = client.evaluate(**ASKED, record=False).json()
    assert change(client, thickness_mm=5) == 2
    after = client.evaluate(**ASKED, record=False).json()
    assert len(judged) == 2
    assert after["provenance"]["part_revisions"] == {"KES-SPR-4030": 1, SPACER: 2}
    assert after["positions"] != before["positions"]


def test_a_change_of_something_else_does_not_make_the_engine_work_again(client, judged):
    before = client.evaluate(**ASKED, record=False).json()
    change(client, "KES-TOP-10", thickness_mm=9)
    assert without_identity(client.evaluate(**ASKED, record=False).json()) == without_identity(before)
    assert len(judged) == 1


def test_a_new_revision_of_the_vehicle_or_of_its_axle_is_used_at_once(client, judged):
    client.evaluate(**ASKED, record=False)
    for path in ("/v1/vehicles/tarn-300-double-cab", "/v1/vehicles/tarn-300-double-cab/axles/front"):
        stored = client.get(path)
        assert client.put(path, stored.json(), headers={"If-Match": stored.headers["etag"]}).status_code == 200
        client.evaluate(**ASKED, record=False)
    assert len(judged) == 3
    provenance = client.evaluate(**ASKED, record=False).json()["provenance"]
    assert (provenance["vehicle_revision"], provenance["axle_revision"]) == (2, 2)


@pytest.mark.parametrize("record", [True, False])
def test_what_was_withdrawn_meanwhile_is_refused_however_often_it_was_answered(client, record):
    for _ in range(2):
        client.evaluate(**ASKED, record=record)
    tag = client.get(f"/v1/parts/{SPACER}").headers["etag"]
    assert client.delete(f"/v1/parts/{SPACER}", headers={"If-Match": tag}).status_code == 204
    refused = client.evaluate(**ASKED, record=record)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/parts/0/sku")


def test_a_change_by_another_process_is_seen_at_once(client, new_client, settings):
    from service.app import create_app  # noqa: PLC0415 — the second process of this test

    other = new_client(create_app(settings))
    client.evaluate(**ASKED, record=False)
    other.evaluate(**ASKED, record=False)
    assert change(other, thickness_mm=5) == 2
    assert client.evaluate(**ASKED, record=False).json()["provenance"]["part_revisions"][SPACER] == 2
    assert change(client, thickness_mm=6) == 3
    assert other.evaluate(**ASKED, record=False).json()["provenance"]["part_revisions"][SPACER] == 3


def test_a_change_by_hand_is_seen_at_once(client):
    client.evaluate(**ASKED, record=False)
    with client.app.state.service.database.writing() as connection:
        connection.execute(text("UPDATE part SET status = 'withdrawn' WHERE sku = 'KES-TOP-20'"))
    assert client.evaluate(**ASKED, record=False).status_code == 422


def test_a_request_that_was_refused_is_read_again(client):
    refused = {"axle": TARN, "parts": [{"sku": "NOT-YET"}], "record": False}
    for _ in range(2):
        assert client.evaluate(**refused).status_code == 422
    body = {"sku": "NOT-YET", "name": "N", "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 9}
    assert client.post("/v1/parts", body).status_code == 201
    assert client.evaluate(**refused).status_code == 200


@pytest.mark.parametrize("media_type", ["text/plain", None])
def test_the_same_bytes_under_another_media_type_are_refused(client, media_type):
    content = json.dumps({**ASKED, "record": False}).encode()
    assert client.send_text(content).status_code == 200
    headers = {"Content-Type": media_type} if media_type else {}
    assert client.request("POST", "/v1/evaluations", content=content, headers=headers).status_code == 415


def test_where_the_database_is_away_nothing_is_answered_from_memory(client, monkeypatch):
    """Nobody could tell whether it still holds."""
    from sqlalchemy.exc import OperationalError  # noqa: PLC0415

    assert client.evaluate(**ASKED, record=False).status_code == 200

    def away(_state):
        raise OperationalError("SELECT", {}, Exception("away"))

    monkeypatch.setattr("service.catalogue.state.CatalogueState.changes", away)
    answer = client.evaluate(**ASKED, record=False)
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "5")
