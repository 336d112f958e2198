"""Kits: several parts under one SKU, catalogued, judged, and kept true when what they hold changes."""

import pytest

TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
CLEAR, UNSAFE = "DUN-KIT-T40", "KES-KIT-T60"
KIT = {
    "sku": "INV-KIT-1",
    "name": "Invented kit",
    "supplier": "Invented Works",
    "kind": "kit",
    "parts": [{"sku": "KES-TOP-10", "quantity": 2}, {"sku": "KES-SPR-4030"}],
}


def parts_of(client, sku):
    return [
        {"sku": entry["sku"], "quantity": entry["quantity"]} for entry in client.get(f"/v1/parts/{sku}").json()["parts"]
    ]


def without_provenance(record):
    return {name: value for name, value in record.items() if name not in ("provenance", "remedies", "id")}


@pytest.mark.parametrize("sku", [CLEAR, UNSAFE])
def test_a_kit_is_judged_as_its_parts(shared_client, sku):
    kit = shared_client.evaluate(axle=TARN, parts=[{"sku": sku}], record=False).json()
    parts = shared_client.evaluate(axle=TARN, parts=parts_of(shared_client, sku), record=False).json()
    assert without_provenance(kit) == without_provenance(parts)
    named = {entry["sku"] for entry in parts_of(shared_client, sku)}
    assert set(kit["provenance"]["part_revisions"]) == {sku, *named}


def test_the_remedies_of_a_kit_take_it_apart(shared_client):
    asked = {"axle": TARN, "parts": [{"sku": UNSAFE}]}
    remedies = shared_client.evaluate(**asked, record=False).json()["remedies"]
    thinner = next(r for r in remedies if r["field"] == "/parts/strut_top_spacer/thickness_mm")
    assert {"sku": "KES-SPR-4030", "quantity": 1} in thinner["instead"]["parts"]
    record = shared_client.evaluate(axle=TARN, **thinner["instead"], record=False).json()
    check = next(check for check in record["checks"] if check["check"] == thinner["check"])
    assert check["outcome"] == "clear"


def test_a_kit_of_what_is_not_there_is_refused(client):
    client.delete("/v1/parts/KES-TOP-30", headers={"If-Match": '"1"'})
    bad = [{"sku": name} for name in ("KES-NONE-1", CLEAR, "KES-TOP-30", "KES-SPR-4030", "KES-SPR-4030")]
    answer = client.post("/v1/parts", json={**KIT, "parts": bad[:4]})
    assert answer.status_code == 422
    assert {error["pointer"]: error["detail"] for error in answer.json()["errors"]} == {
        "/parts/0/sku": "The catalogue has no part KES-NONE-1.",
        "/parts/1/sku": f"{CLEAR} is a kit itself: name its parts.",
        "/parts/2/sku": "KES-TOP-30 has been withdrawn.",
    }
    twice = client.post("/v1/parts", json={**KIT, "parts": bad[3:]})
    assert [error["pointer"] for error in twice.json()["errors"]] == ["/parts/1/sku"]
    assert client.post("/v1/parts", json={**KIT, "parts": []}).status_code == 422


def test_no_kit_comes_with_a_request_and_none_is_load(shared_client):
    inline = shared_client.evaluate(axle=TARN, parts=[{"part": {"kind": "kit", "parts": [{"sku": "KES-TOP-10"}]}}])
    assert inline.status_code == 422
    loaded = shared_client.evaluate(axle=TARN, load={"accessories": [{"sku": CLEAR}]})
    assert [error["pointer"] for error in loaded.json()["errors"]] == ["/load/accessories/0/sku"]


def test_a_kit_is_catalogued_listed_and_judged(client):
    created = client.post("/v1/parts", json=KIT)
    assert created.status_code == 201, created.text
    assert created.json()["parts"][1] == {"sku": "KES-SPR-4030", "quantity": 1}
    listed = client.get("/v1/parts", params={"kind": "kit"}).json()["items"]
    assert {kit["sku"] for kit in listed} == {CLEAR, UNSAFE, KIT["sku"]}
    twice = client.evaluate(axle=TARN, parts=[{"sku": KIT["sku"]}, {"sku": "KES-SPR-4030"}])
    assert twice.status_code == 422
    assert "already" in twice.json()["errors"][0]["detail"]


def test_what_is_withdrawn_takes_its_kits_with_it(client):
    asked = {"axle": TARN, "parts": [{"sku": UNSAFE}], "record": False}
    assert client.evaluate(**asked).status_code == 200
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"1"'})
    refused = client.evaluate(**asked)
    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert error["pointer"] == "/parts/0/sku"
    assert error["detail"].startswith(f"In the kit {UNSAFE}: KES-TOP-20 has been withdrawn")


def test_a_change_of_a_part_changes_the_verdict_on_its_kit(client):
    asked = {"axle": TARN, "parts": [{"sku": UNSAFE}], "record": False}
    before = client.evaluate(**asked).json()
    spacer = client.get("/v1/parts/KES-TOP-20").json()
    client.put("/v1/parts/KES-TOP-20", json={**spacer, "thickness_mm": 2}, headers={"If-Match": '"1"'})
    after = client.evaluate(**asked).json()
    assert after["lift_mm"]["value"] < before["lift_mm"]["value"] - 10
    assert after["provenance"]["part_revisions"]["KES-TOP-20"] == 2


def test_a_batch_and_a_single_request_say_the_same_of_a_kit(shared_client):
    asked = {"axle": TARN, "parts": [{"sku": UNSAFE}], "record": False}
    body = shared_client.post("/v1/evaluations/batch", json={"requests": [asked, asked]}).json()["results"]
    alone = shared_client.evaluate(**asked).json()
    for each in body:
        assert each["checks"] == alone["checks"]
        assert each["remedies"] == alone["remedies"]
