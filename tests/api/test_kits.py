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


def put(client, address_sku, **body):
    return client.put(f"/v1/parts/{address_sku}", json=body, headers={"If-Match": "*"})


def errors_of(answer):
    assert answer.status_code == 422, answer.text
    return [(error["pointer"], error["detail"]) for error in answer.json()["errors"]]


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


ONE_SPRING = "There is a coil spring in this build already: one wheel holds one."


@pytest.mark.parametrize(
    ("parts", "pointer", "detail"),
    [
        (
            [{"sku": "KES-SPR-4030"}, {"sku": UNSAFE}],
            "/parts/1/sku",
            f"In the kit {UNSAFE}, KES-SPR-4030: {ONE_SPRING}",
        ),
        ([{"sku": UNSAFE}, {"sku": "KES-SPR-4030"}], "/parts/1/sku", ONE_SPRING),
        ([{"sku": UNSAFE}, {"sku": CLEAR}], "/parts/1/sku", f"In the kit {CLEAR}, KES-SPR-4030: {ONE_SPRING}"),
        ([{"sku": UNSAFE}, {"sku": UNSAFE}], "/parts/1/sku", f"In the kit {UNSAFE}, KES-SPR-4030: {ONE_SPRING}"),
        (
            [{"sku": UNSAFE, "quantity": 2}],
            "/parts/0/quantity",
            f"In the kit {UNSAFE}, KES-SPR-4030: One wheel holds one coil spring; the quantity is per wheel.",
        ),
    ],
)
def test_what_is_wrong_inside_a_kit_is_told_of_its_part_at_the_kits_entry(shared_client, parts, pointer, detail):
    assert errors_of(shared_client.evaluate(axle=TARN, parts=parts)) == [(pointer, detail)]


def test_a_quantity_that_the_kit_itself_states_is_not_blamed_on_the_request(client):
    two = {**KIT, "parts": [{"sku": "KES-SPR-4030", "quantity": 2}]}
    assert client.post("/v1/parts", json=two).status_code == 201
    ((pointer, detail),) = errors_of(client.evaluate(axle=TARN, parts=[{"sku": KIT["sku"]}]))
    assert pointer == "/parts/0/sku"
    assert detail.startswith(f"In the kit {KIT['sku']}, KES-SPR-4030: One wheel holds one coil spring")


def test_a_kit_times_its_quantity(client):
    shims = {**KIT, "parts": [{"sku": "PEL-SHIM-12", "quantity": 2}, {"sku": "SKA-BAR-38"}]}
    assert client.post("/v1/parts", json=shims).status_code == 201
    kits = client.evaluate(axle=TARN, parts=[{"sku": KIT["sku"], "quantity": 2}], record=False).json()
    singly = [{"sku": "PEL-SHIM-12", "quantity": 4}, {"sku": "SKA-BAR-38", "quantity": 2}]
    assert without_provenance(kits) == without_provenance(client.evaluate(axle=TARN, parts=singly, record=False).json())


def test_the_order_of_kits_and_parts_carries_no_meaning(shared_client):
    parts = [{"sku": CLEAR}, {"sku": "PEL-SHIM-12"}, {"sku": "SKA-BAR-38"}]
    one, other = (
        shared_client.evaluate(axle=TARN, parts=each, record=False).json() for each in (parts, list(reversed(parts)))
    )
    for record in (one, other):
        del record["provenance"]["evaluated_at"]
    assert one == other


def test_a_kit_holds_neither_itself_nor_another_one(client):
    kit = {name: value for name, value in KIT.items() if name != "sku"}
    own = put(client, "KES-TOP-20", **{**kit, "parts": [{"sku": "KES-TOP-20"}]})
    assert errors_of(own) == [("/parts/0/sku", "KES-TOP-20 is a kit itself: name its parts.")]
    assert client.get("/v1/parts/KES-TOP-20").json()["kind"] == "strut_top_spacer"
    nested = put(client, CLEAR, **{**kit, "parts": [{"sku": UNSAFE}]})
    assert errors_of(nested) == [("/parts/0/sku", f"{UNSAFE} is a kit itself: name its parts.")]


@pytest.mark.parametrize("inside", ["KES-SPR-4030", "KES-TOP-10"])
def test_what_becomes_a_kit_itself_takes_the_kits_that_hold_it_with_it(client, inside):
    assert put(client, "KES-TOP-20", **{**KIT, "sku": "KES-TOP-20", "parts": [{"sku": inside}]}).status_code == 200
    ((pointer, detail),) = errors_of(client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}]))
    assert (pointer, detail.split(": ")[:2]) == (
        "/parts/0/sku", [f"In the kit {UNSAFE}", "KES-TOP-20 has become a kit itself"]
    )  # fmt: skip


def test_a_kit_may_be_withdrawn_whatever_has_become_of_its_parts(client):
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": "*"})
    stored = client.get(f"/v1/parts/{UNSAFE}").json()
    assert errors_of(put(client, UNSAFE, **stored)) == [("/parts/1/sku", "KES-TOP-20 has been withdrawn.")]
    assert put(client, UNSAFE, **{**stored, "status": "withdrawn"}).status_code == 200
    ((_, detail),) = errors_of(client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}]))
    assert detail == f"{UNSAFE} has been withdrawn: it must not go into a new build."


def test_a_build_of_kits_is_no_larger_than_one_of_parts(client):
    kits = [f"INV-KIT-{number}" for number in range(4)]
    bars = [f"INV-BAR-{number}" for number in range(26)]
    bar = client.get("/v1/parts/SKA-BAR-38").json()
    for sku in bars:
        assert client.post("/v1/parts", json={**bar, "sku": sku}).status_code == 201
    for sku in kits:
        kit = {**KIT, "sku": sku, "parts": [{"sku": bar} for bar in bars]}
        assert client.post("/v1/parts", json=kit).status_code == 201
    three = client.evaluate(axle=TARN, parts=[{"sku": sku} for sku in kits[:3]], record=False, remedies=False)
    assert three.status_code == 200
    ((pointer, detail),) = errors_of(client.evaluate(axle=TARN, parts=[{"sku": sku} for sku in kits]))
    assert (pointer, detail) == ("/parts", "With what its kits hold this build has 104 parts: 100 are the most.")


def test_a_repeated_request_is_judged_anew_when_the_kit_or_a_part_of_it_changes(client):
    def revisions():
        answer = client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}], record=False)
        return answer.json()["provenance"]["part_revisions"]

    first = revisions()
    assert revisions() == first == {UNSAFE: 1, "KES-SPR-4030": 1, "KES-TOP-20": 1}
    stored = client.get(f"/v1/parts/{UNSAFE}").json()
    put(client, UNSAFE, **{**stored, "parts": [{"sku": "KES-SPR-4030"}, {"sku": "KES-TOP-10"}]})
    assert revisions() == {UNSAFE: 2, "KES-SPR-4030": 1, "KES-TOP-10": 1}
    put(client, "KES-TOP-10", **client.get("/v1/parts/KES-TOP-10").json() | {"thickness_mm": 8})
    assert revisions() == {UNSAFE: 2, "KES-SPR-4030": 1, "KES-TOP-10": 2}


def test_records_are_found_by_the_kit_and_by_what_it_holds(client):
    record = client.evaluate(axle=TARN, parts=[{"sku": UNSAFE}]).json()
    for sku in (UNSAFE, "KES-TOP-20"):
        found = client.get("/v1/evaluations", params={"sku": sku}).json()["items"]
        assert [each["id"] for each in found] == [record["id"]]
