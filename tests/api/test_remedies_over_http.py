"""Remedies over HTTP: in every record, and each of them may be asked for as a build of its own."""

import pytest

from service.api.schemas.verdict import VerdictRecord

TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
HEAVY = {
    "accessories": [
        {"sku": "SKA-BAR-38"},
        {"name": "spare wheels", "mass_kg": 300, "behind_front_axle_mm": -600},
    ],
    "occupants_kg": 150,
}
UNSAFE = {
    "spring and spacer": {"axle": TARN, "parts": [{"sku": "KES-SPR-4030"}, {"sku": "KES-TOP-20", "quantity": 2}]},
    "inline spacer": {"axle": TARN, "parts": [{"part": {"kind": "strut_top_spacer", "thickness_mm": 45}}]},
    "too heavy": {"axle": TARN, "parts": [{"sku": "KES-SPR-4030"}], "load": HEAVY},
    "accessory among the parts": {
        "axle": TARN,
        "parts": [{"sku": "SKA-BAR-38"}, {"part": {"kind": "accessory", "mass_kg": 400, "behind_front_axle_mm": -500}}],
    },
    "surveyed MacPherson": {
        "axle": {"vehicle": "wendrith-4-estate", "end": "front"},
        "parts": [{"part": {"kind": "strut_top_spacer", "thickness_mm": 40}}],
    },
}


def check_of(record, name):
    return next(check for check in record["checks"] if check["check"] == name)


@pytest.mark.parametrize("name", UNSAFE)
def test_what_is_to_be_sent_instead_clears_the_check(shared_client, name):
    asked = UNSAFE[name]
    answer = shared_client.evaluate(**asked, record=False)
    VerdictRecord.model_validate_json(answer.content)
    remedies = answer.json()["remedies"]
    sendable = [remedy for remedy in remedies if remedy["instead"]]
    assert sendable
    for remedy in sendable:
        again = shared_client.evaluate(**{**asked, **remedy["instead"]}, record=False)
        assert again.status_code == 200, (remedy, again.text)
        record = again.json()
        assert check_of(record, remedy["check"])["outcome"] in ("clear", "not_applicable"), remedy
        assert (record["verdict"], record["lift_mm"]) == (remedy["verdict"], remedy["lift_mm"])
    assert all(remedy["field"].startswith("/axle/") for remedy in remedies if not remedy["instead"])


def test_a_clear_verdict_has_an_empty_list_of_remedies(shared_client):
    record = shared_client.evaluate(axle=TARN, record=False).json()
    assert (record["verdict"], record["remedies"]) == ("clear", [])


def test_who_does_not_want_remedies_gets_none(shared_client):
    asked = UNSAFE["spring and spacer"]
    told, untold = (shared_client.evaluate(**asked, remedies=wish, record=False).json() for wish in (True, False))
    assert told["remedies"]
    assert untold["remedies"] is None
    assert told["provenance"]["request_sha256"] != untold["provenance"]["request_sha256"]
    assert {**told, "remedies": None, "provenance": None} == {**untold, "provenance": None}
    plain = shared_client.evaluate(**asked, record=False).json()
    assert plain["provenance"]["request_sha256"] == told["provenance"]["request_sha256"]


def test_a_batch_tells_each_its_own_remedies(client):
    asked = [UNSAFE["too heavy"], {"axle": TARN}, {**UNSAFE["inline spacer"], "remedies": False}]
    results = client.post("/v1/evaluations/batch", json={"requests": [{**a, "record": False} for a in asked]}).json()
    alone = [client.evaluate(**each, record=False).json() for each in asked]
    assert [each["remedies"] for each in results["results"]] == [each["remedies"] for each in alone]
    assert [bool(each["remedies"]) for each in alone] == [True, False, False]


def test_the_record_keeps_its_remedies(client):
    answer = client.evaluate(**UNSAFE["spring and spacer"])
    assert answer.json()["remedies"]
    assert client.get(answer.headers["location"]).content == answer.content


def test_what_is_sent_instead_keeps_how_surely_each_mass_is_known(shared_client):
    load = {
        "accessories": [
            {"mass_kg": {"value": 300, "plus_minus": 25}, "behind_front_axle_mm": {"value": -600, "plus_minus": 40}},
            {"name": "spare wheels", "mass_kg": 60, "behind_front_axle_mm": 200},
        ],
        "occupants_kg": {"value": 150, "plus_minus": 45},
    }
    asked = {"axle": TARN, "load": load}
    told = shared_client.evaluate(**asked, record=False).json()["remedies"]
    sent = [remedy for remedy in told if remedy["field"].startswith("/load")]
    assert sent
    for remedy in sent:
        again = shared_client.evaluate(**{**asked, **remedy["instead"]}, record=False).json()
        assert (again["verdict"], again["lift_mm"]) == (remedy["verdict"], remedy["lift_mm"])
        assert check_of(again, "axle_rating")["outcome"] in ("clear", "not_applicable")
