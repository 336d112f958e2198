"""Many evaluations in one request: each answered by itself, in order, by one call of the engine."""

import json
from copy import deepcopy

import pytest
from sqlalchemy.exc import OperationalError

from service.api.schemas.batch import MOST_REQUESTS, BatchResults
from service.judging import judge

PATH = "/v1/evaluations/batch"
TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
GOOD = {"axle": TARN, "parts": [{"sku": "KES-TOP-20"}], "record": False}
LIFTED = {"axle": TARN, "parts": [{"sku": "KES-SPR-4030"}], "load": {"occupants_kg": 160}, "record": False}


def batch(client, *requests):
    return client.post(PATH, {"requests": list(requests)})


def without_identity(record):
    record = deepcopy(record)
    del record["id"], record["provenance"]["evaluated_at"]
    return record


def test_each_is_answered_as_by_itself_and_in_order(shared_client, inline_axle):
    asked = [GOOD, LIFTED, {"axle": inline_axle, "record": False}, {**GOOD, "duty": "sealed_road"}, GOOD]
    answer = batch(shared_client, *asked)
    assert answer.status_code == 200
    alone = [shared_client.evaluate(**each).json() for each in asked]
    assert list(map(without_identity, answer.json()["results"])) == list(map(without_identity, alone))
    BatchResults.model_validate_json(answer.content)


def test_the_engine_is_called_once(client, monkeypatch):
    calls, evaluate = [], judge.evaluate
    monkeypatch.setattr(judge, "evaluate", lambda builds: calls.append(len(builds)) or evaluate(builds))
    loads = [{**LIFTED, "load": {"occupants_kg": number}} for number in range(40)]
    assert batch(client, *loads).status_code == 200
    assert calls == [40]


def test_those_that_ask_for_it_are_kept_and_the_others_are_not(client):
    answer = batch(client, {**GOOD, "record": True}, GOOD, {"axle": TARN})
    ids = [result["id"] for result in answer.json()["results"]]
    assert ids[1] is None
    assert [item["id"] for item in client.get("/v1/evaluations").json()["items"]] == [ids[2], ids[0]]
    for record_id, result in ((ids[0], 0), (ids[2], 2)):
        assert client.get(f"/v1/evaluations/{record_id}").json() == answer.json()["results"][result]


BAD = [
    ({"axle": TARN, "parts": [{"sku": "NO-SUCH"}]}, "/parts/0/sku", "no part NO-SUCH"),
    ({"axle": TARN, "spring_mm": 3}, "/spring_mm", "is not known here"),
    ({"axle": {"vehicle": "tarn-300-double-cab"}}, "/axle/end", "is missing"),
    ({"axle": TARN, "load": {"occupants_kg": "heavy"}}, "/load/occupants_kg", "must be a number, not text"),
    ({"axle": TARN, "parts": [{"part": {"kind": "bump_stop_spacer"}}]}, "/parts/0/part/thickness_mm", "is missing"),
    ({}, "/axle", "is missing"),
    (7, "", "must be an object"),
    (None, "", "must be an object"),
    ([GOOD], "", "must be an object"),
]  # fmt: skip


@pytest.mark.parametrize(("bad", "pointer", "said"), BAD)
def test_a_bad_one_is_told_its_fault_and_spoils_no_other(shared_client, bad, pointer, said):
    answer = batch(shared_client, GOOD, bad, LIFTED)
    assert answer.status_code == 200
    first, problem, last = answer.json()["results"]
    assert first["verdict"] == shared_client.evaluate(**GOOD).json()["verdict"]
    assert last["verdict"] == shared_client.evaluate(**LIFTED).json()["verdict"]
    assert (problem["type"], problem["status"]) == ("/problems/not-valid", 422)
    assert problem["instance"] == f"{PATH}#/requests/1"
    fault = problem["errors"][0]
    assert fault["pointer"] == f"/requests/1{pointer}"
    assert said in fault["detail"]
    assert f"/requests/1{pointer}" in problem["detail"]
    BatchResults.model_validate_json(answer.content)


def test_all_bad_ones_are_answered_too(shared_client):
    results = batch(shared_client, *(bad for bad, _, _ in BAD)).json()["results"]
    assert [result["status"] for result in results] == [422] * len(BAD)


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/requests"),
        ({"requests": []}, "/requests"),
        ({"requests": GOOD}, "/requests"),
        ({"requests": [0] * (MOST_REQUESTS + 1)}, "/requests"),
        ({"requests": [GOOD], "record": False}, "/record"),
        ([GOOD], ""),
    ],
)
def test_what_is_no_batch_is_refused_as_a_whole(shared_client, body, pointer):
    answer = shared_client.post(PATH, body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == pointer


def test_a_thousand_are_answered(shared_client):
    asked = [{**LIFTED, "load": {"occupants_kg": number / 4}} for number in range(MOST_REQUESTS)]
    results = batch(shared_client, *asked).json()["results"]
    assert len(results) == MOST_REQUESTS
    for number in (0, 500, 999):
        assert without_identity(results[number]) == without_identity(shared_client.evaluate(**asked[number]).json())


def test_the_limit_on_a_body_holds_for_all_of_them_together(shared_client):
    text = json.dumps({"requests": [GOOD]}).encode().rjust(1_048_577)
    answer = shared_client.send_text(text, PATH)
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/body-too-large")
    assert shared_client.send_text(text[1:], PATH).status_code == 200


def test_json_that_is_none_and_names_that_stand_twice_are_400(shared_client):
    assert shared_client.send_text('{"requests": [', PATH).status_code == 400
    assert shared_client.send_text('{"requests": [{"axle": 1, "axle": 2}]}', PATH).status_code == 400


def test_a_withdrawn_part_is_refused_and_a_new_revision_used(client):
    batch(client, GOOD)
    stored = client.get("/v1/parts/KES-TOP-20")
    changed = {**stored.json(), "thickness_mm": 5}
    client.put("/v1/parts/KES-TOP-20", changed, headers={"If-Match": stored.headers["etag"]})
    (result,) = batch(client, GOOD).json()["results"]
    assert result["provenance"]["part_revisions"] == {"KES-TOP-20": 2}
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"2"'})
    (refused,) = batch(client, GOOD).json()["results"]
    assert "withdrawn" in refused["errors"][0]["detail"]


def test_where_the_ledger_cannot_be_written_none_is_kept_and_all_is_503(client, monkeypatch):
    def away(*_):
        raise OperationalError("INSERT", {}, Exception("away"))

    monkeypatch.setattr("service.ledger.writer.insert_records", away)
    answer = batch(client, GOOD, {"axle": TARN}, {"axle": TARN, "parts": [{"sku": "KES-TOP-20"}]})
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/database-away")
    monkeypatch.undo()
    assert client.get("/v1/evaluations").json()["items"] == []
    assert batch(client, GOOD).status_code == 200
