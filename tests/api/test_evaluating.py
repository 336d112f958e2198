"""Evaluations over HTTP: the record, what it rests on, and how it is found again."""

import hashlib
import json
from copy import deepcopy

import pytest
from sqlalchemy import text

from service.api.schemas.verdict import VerdictRecord

TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
SPRING = {"sku": "KES-SPR-4030"}
SPACER = {"sku": "KES-TOP-20"}
SHIM = {"part": {"kind": "bump_stop_spacer", "thickness_mm": 12}}
LOAD = {
    "accessories": [
        {"name": "bumper", "mass_kg": 96, "behind_front_axle_mm": -720},
        {"sku": "KES-TANK-60"},
    ],
    "occupants_kg": 160,
}
LIMIT = "/axle/inline/limits/brake_hose/reached_at_arch_to_hub_mm"
WHOLE = {
    "axle": TARN,
    "parts": [SPRING, SPACER, SHIM],
    "load": LOAD,
    "duty": "unsealed_touring",
    "target_lift_mm": 40,
}


def without_identity(record):
    record = deepcopy(record)
    del record["id"], record["provenance"]["evaluated_at"]
    return record


def test_a_verdict_is_given_kept_and_read_again_byte_for_byte(client):
    answer = client.evaluate(**WHOLE)
    assert answer.status_code == 201
    record = answer.json()
    assert answer.headers["location"] == f"/v1/evaluations/{record['id']}"
    for _ in range(2):
        again = client.get(answer.headers["location"])
        assert again.status_code == 200
        assert again.content == answer.content


def test_without_record_nothing_is_kept(client):
    answer = client.evaluate(**WHOLE, record=False)
    assert (answer.status_code, answer.json()["id"]) == (200, None)
    assert "location" not in answer.headers
    assert client.get("/v1/evaluations").json()["items"] == []


@pytest.mark.parametrize("request_body", [WHOLE, {"axle": TARN}, {"axle": {**TARN, "vehicle": "wendrith-4-estate"}}])
def test_the_bytes_that_go_out_are_the_declared_record(shared_client, request_body):
    answer = shared_client.evaluate(**request_body, record=False)
    VerdictRecord.model_validate_json(answer.content)


def test_an_axle_that_is_in_no_catalogue_is_judged_too(shared_client, inline_axle):
    answer = shared_client.evaluate(axle=inline_axle, parts=[SPACER, SHIM], record=False)
    assert answer.status_code == 200
    VerdictRecord.model_validate_json(answer.content)
    provenance = answer.json()["provenance"]
    assert provenance["axle_revision"] is provenance["vehicle_revision"] is None
    assert provenance["part_revisions"] == {"KES-TOP-20": 1}


def test_how_far_the_lift_may_be_from_the_one_asked_for_can_be_stated(shared_client):
    def ride(**asked):
        record = shared_client.evaluate(axle=TARN, parts=[SPRING], target_lift_mm=80, **asked, record=False).json()
        return next(check for check in record["checks"] if check["check"] == "ride_height")

    by_policy, wide = ride(), ride(lift_tolerance_mm=90)
    assert (by_policy["outcome"], by_policy["details"]["tolerance_mm"]) == ("marginal", 10)
    assert (wide["outcome"], wide["details"]["tolerance_mm"]) == ("clear", 90)
    assert wide["margin"] == pytest.approx(by_policy["margin"] + 80)
    for bad in (0, -5, "10", 1e9):
        refused = shared_client.evaluate(axle=TARN, target_lift_mm=80, lift_tolerance_mm=bad)
        assert refused.status_code == 422
        assert [error["pointer"] for error in refused.json()["errors"]] == ["/lift_tolerance_mm"]


def test_the_order_of_parts_and_accessories_carries_no_meaning(shared_client):
    forwards = shared_client.evaluate(**WHOLE, record=False).json()
    load = {**LOAD, "accessories": LOAD["accessories"][::-1]}
    backwards = shared_client.evaluate(**{**WHOLE, "parts": WHOLE["parts"][::-1], "load": load}, record=False).json()
    assert without_identity(forwards) == without_identity(backwards)


def test_what_is_left_out_is_the_same_question_as_its_default(shared_client):
    bare = shared_client.evaluate(axle=TARN, parts=[SPACER], record=False).json()
    stated = {"policy": "standard", "duty": "rock_and_articulation", "target_lift_mm": None, "load": None}
    stated["parts"] = [{**SPACER, "quantity": 1}]
    spelt_out = shared_client.evaluate(axle=TARN, record=False, **stated).json()
    assert without_identity(bare) == without_identity(spelt_out)
    other = shared_client.evaluate(axle=TARN, parts=[SPACER], duty="sealed_road", record=False).json()
    assert other["provenance"]["request_sha256"] != bare["provenance"]["request_sha256"]


def test_recording_does_not_change_the_verdict(client):
    kept, not_kept = client.evaluate(**WHOLE).json(), client.evaluate(**WHOLE, record=False).json()
    assert without_identity(kept) == without_identity(not_kept)


def test_provenance_names_the_revisions_in_force(client):
    part = client.get("/v1/parts/KES-TOP-20").json()
    body = {name: part[name] for name in ("sku", "name", "supplier", "kind", "thickness_mm")}
    client.put("/v1/parts/KES-TOP-20", {**body, "thickness_mm": 22}, headers={"If-Match": '"1"'})
    axle = client.get("/v1/vehicles/tarn-300-double-cab/axles/front").json()
    for name in ("vehicle", "end", "revision", "status", "created_at", "revised_at"):
        del axle[name]
    client.put("/v1/vehicles/tarn-300-double-cab/axles/front", axle, headers={"If-Match": '"1"'})
    provenance = client.evaluate(**WHOLE).json()["provenance"]
    assert (provenance["vehicle_revision"], provenance["axle_revision"]) == (1, 2)
    assert provenance["part_revisions"] == {"KES-SPR-4030": 1, "KES-TANK-60": 1, "KES-TOP-20": 2}


def test_a_new_revision_is_used_at_once(client):
    before = client.evaluate(axle=TARN, parts=[SPACER]).json()
    part = client.get("/v1/parts/KES-TOP-20").json()
    body = {name: part[name] for name in ("sku", "name", "supplier", "kind")}
    client.put("/v1/parts/KES-TOP-20", {**body, "thickness_mm": 5}, headers={"If-Match": '"1"'})
    after = client.evaluate(axle=TARN, parts=[SPACER]).json()
    droop = [record["positions"][0]["arch_to_hub_mm"]["value"] for record in (before, after)]
    assert droop[0] > droop[1] + 10
    assert client.get(f"/v1/evaluations/{before['id']}").json() == before


def test_the_same_part_by_sku_and_in_full_gives_the_same_verdict(shared_client):
    by_sku = shared_client.evaluate(axle=TARN, parts=[SPACER], record=False).json()
    in_full = {"kind": "strut_top_spacer", "thickness_mm": {"value": 20, "plus_minus": 0.2}}
    inline = shared_client.evaluate(axle=TARN, parts=[{"part": in_full}], record=False).json()
    assert by_sku["positions"] == inline["positions"]
    assert by_sku["verdict"] == inline["verdict"]


def test_an_accessory_weighs_the_same_among_the_parts_and_in_the_load(shared_client):
    among_parts = shared_client.evaluate(axle=TARN, parts=[{"sku": "SKA-BAR-38", "quantity": 2}], record=False).json()
    load = {"accessories": [{"sku": "SKA-BAR-38", "quantity": 2}]}
    in_load = shared_client.evaluate(axle=TARN, load=load, record=False).json()
    assert among_parts["positions"] == in_load["positions"]


@pytest.mark.parametrize(
    ("changes", "pointer", "said"),
    [
        ({"axle": {"vehicle": "no-such", "end": "front"}}, "/axle/vehicle", "no vehicle no-such"),
        ({"axle": {**TARN, "end": "rear"}}, "/axle/end", "Nobody has measured the rear axle"),
        ({"parts": [SPRING, {"sku": "NO-SUCH"}]}, "/parts/1/sku", "no part NO-SUCH"),
        ({"parts": [{"sku": "KES-SPR-W2500"}]}, "/parts/0/sku", "not sold for the front axle of tarn-300-double-cab"),
        ({"parts": [SPRING, {"sku": "KES-SPR-0050"}]}, "/parts/1/sku", "coil spring in this build already"),
        ({"parts": [{**SPRING, "quantity": 2}]}, "/parts/0/quantity", "One wheel holds one"),
        ({"load": {"accessories": [{"sku": "NO-SUCH"}]}}, "/load/accessories/0/sku", "no part NO-SUCH"),
        ({"load": {"accessories": [SPRING]}}, "/load/accessories/0/sku", "is no accessory"),
        (
            {"parts": [{"part": {"kind": "bump_stop", "free_height_mm": 50, "crushed_height_mm": 60}}]},
            "/parts/0/part/crushed_height_mm",
            "must be lower than free",
        ),
        (
            {"parts": [SPACER, {"part": {"kind": "damper", "extended_length_mm": 500, "closed_length_mm": 300}}]},
            "/parts/1/part/kind",
            "a separate damper has no place",
        ),
        (
            {
                "load": {
                    "accessories": [{"sku": "SKA-BAR-38", "quantity": 3}, {"mass_kg": 0, "behind_front_axle_mm": 1}]
                }
            },
            "/load/accessories/1/mass_kg",
            "is no mass",
        ),
        ({"target_lift_mm": 5000}, "/target_lift_mm", "is no lift"),
        ({"load": {"occupants_kg": -80}}, "/load/occupants_kg", "is no mass"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(shared_client, changes, pointer, said):
    answer = shared_client.evaluate(**{"axle": TARN, **changes})
    assert answer.status_code == 422
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == pointer
    assert said in fault["detail"]


@pytest.mark.parametrize(
    ("path", "value", "pointer"),
    [
        (("inline", "travel", "stations", 0, "seat_gap_mm"), 2, "/axle/inline/travel/stations/0/seat_gap_mm"),
        (("inline", "travel", "stations", 2, "seat_gap_mm"), 290, "/axle/inline/travel/stations/2/seat_gap_mm"),
        (("inline", "travel", "stations", 1, "arch_to_hub_mm"), 604, "/axle/inline/travel/stations/1/arch_to_hub_mm"),
        (("inline", "fitted", "strut", "closed_length_mm"), 600, "/axle/inline/fitted/strut/closed_length_mm"),
        (("inline", "limits", "brake_hose", "reached_at_arch_to_hub_mm"), 3, LIMIT),
        (("vehicle_masses", "wheelbase_mm"), 3, "/axle/vehicle_masses/wheelbase_mm"),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_are_refused_at_their_field(shared_client, inline_axle, path, value, pointer):
    axle = deepcopy(inline_axle)
    inside = axle
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value
    answer = shared_client.evaluate(axle=axle)
    assert answer.status_code == 422
    assert pointer in [fault["pointer"] for fault in answer.json()["errors"]]


def test_everything_that_is_wrong_is_told_at_once(shared_client):
    answer = shared_client.evaluate(
        axle={"vehicle": "no-such", "end": "front"}, parts=[{"sku": "NO-1"}, {"sku": "NO-2"}]
    )
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/axle/vehicle", "/parts/0/sku", "/parts/1/sku"]


def test_what_is_withdrawn_goes_into_no_new_build_and_old_records_stay(client):
    kept = client.evaluate(axle=TARN, parts=[SPACER])
    assert client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"1"'}).status_code == 204
    refused = client.evaluate(axle=TARN, parts=[SPACER])
    assert refused.status_code == 422
    assert refused.json()["errors"] == [
        {"pointer": "/parts/0/sku", "detail": "KES-TOP-20 has been withdrawn: it must not go into a new build."}
    ]
    assert client.get(kept.headers["location"]).content == kept.content
    client.delete("/v1/vehicles/tarn-300-double-cab", headers={"If-Match": '"1"'})
    assert client.evaluate(axle=TARN).json()["errors"][0]["pointer"] == "/axle/vehicle"


def test_a_part_sold_for_some_axles_may_be_tried_on_one_in_no_catalogue(shared_client, inline_axle):
    answer = shared_client.evaluate(axle=inline_axle, parts=[{"sku": "KES-SPR-W2500"}], record=False)
    assert answer.status_code == 200


def test_an_axle_measured_on_a_catalogued_vehicle_is_that_vehicles(client, inline_axle):
    measured = {**inline_axle, "measured_on": "tarn-300-double-cab"}
    record = client.evaluate(axle=measured, parts=[SPACER]).json()
    plain = client.evaluate(axle=inline_axle, parts=[SPACER]).json()
    assert [record[name] for name in ("checks", "positions")] == [plain[name] for name in ("checks", "positions")]
    told = {name: record["provenance"][name] for name in ("vehicle_revision", "axle_revision")}
    assert told == {"vehicle_revision": 1, "axle_revision": None}
    listed = client.get("/v1/evaluations?vehicle=tarn-300-double-cab&axle=front").json()["items"]
    assert [each["id"] for each in listed] == [record["id"]]


@pytest.mark.parametrize(
    ("axle", "pointer", "detail"),
    [
        ({"measured_on": "tarn-300-double-cab"}, "/parts/0/sku", "not sold for the front axle of"),
        ({"measured_on": "no-such"}, "/axle/measured_on", "The catalogue has no vehicle no-such."),
        ({"measured_on": "Tarn 300"}, "/axle/measured_on", "must be of letters from A to Z, digits"),
        ({"vehicle": "tarn-300-double-cab"}, "/axle/vehicle", "is not known here"),
    ],
)
def test_what_does_not_go_with_the_vehicle_that_was_measured_is_refused(
    shared_client, inline_axle, axle, pointer, detail
):
    answer = shared_client.evaluate(axle={**inline_axle, **axle}, parts=[{"sku": "KES-SPR-W2500"}])
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == pointer
    assert detail in answer.json()["errors"][0]["detail"]


def test_a_withdrawn_vehicle_is_not_measured_any_more(client, inline_axle):
    asked = {"axle": {**inline_axle, "measured_on": "tarn-300-double-cab"}, "record": False}
    assert client.evaluate(**asked).status_code == 200
    client.delete("/v1/vehicles/tarn-300-double-cab", headers={"If-Match": '"1"'})
    refused = client.evaluate(**asked)
    assert refused.json()["errors"] == [
        {"pointer": "/axle/measured_on", "detail": "The vehicle tarn-300-double-cab has been withdrawn."}
    ]


def test_an_axle_that_nobody_has_catalogued_may_have_been_measured(shared_client, inline_axle):
    axle = {**inline_axle, "end": "rear", "measured_on": "tarn-300-double-cab"}
    assert shared_client.evaluate(axle=axle, record=False).status_code == 200


def test_records_are_listed_newest_first_and_found_by_what_they_are_about(client, inline_axle):
    first = client.evaluate(axle=TARN, parts=[SPACER, SPRING]).json()
    second = client.evaluate(axle={**TARN, "vehicle": "veldram-18-flatbed"}, parts=[SPACER]).json()
    third = client.evaluate(axle={**inline_axle, "end": "rear"}).json()

    def ids(query=""):
        answer = client.get(f"/v1/evaluations{query}")
        assert answer.status_code == 200
        return [item["id"] for item in answer.json()["items"]]

    assert ids() == [third["id"], second["id"], first["id"]]
    assert ids("?sku=KES-TOP-20") == [second["id"], first["id"]]
    assert ids("?sku=KES-SPR-4030") == [first["id"]]
    assert ids("?vehicle=veldram-18-flatbed") == [second["id"]]
    assert ids("?axle=rear") == [third["id"]]
    assert first["id"] in ids(f"?verdict={first['verdict']}")
    assert ids("?since=2020-01-01T00:00:00Z&until=2999-01-01T00:00:00%2B01:00") == ids()
    assert ids("?until=2020-01-01T00:00:00.5Z") == []
    assert ids("?since=2999-01-01T00:00:00z") == []


def test_listing_pages_follow_each_other_by_link(client):
    ids = [client.evaluate(axle=TARN).json()["id"] for _ in range(5)]
    path, found = "/v1/evaluations?limit=2&axle=front", []
    while path:
        answer = client.get(path)
        found += [item["id"] for item in answer.json()["items"]]
        link = answer.headers.get("link")
        assert (link is None) == (answer.json()["next"] is None)
        path = link and link.removeprefix("<").removesuffix('>; rel="next"')
        assert path is None or "axle=front" in path
    assert found == ids[::-1]


@pytest.mark.parametrize(
    "time", ["0001-01-01T00:00:00+01:00", "9999-12-31T23:59:59-01:00", "2026-02-03T04:05:06.123456789Z"]
)
def test_times_at_the_ends_of_the_calendar_are_times(shared_client, time):
    assert shared_client.get("/v1/evaluations", params={"since": time, "until": time}).status_code == 200


@pytest.mark.parametrize(
    "time", ["yesterday", "2026-01-01", "2026-13-01T00:00:00Z", "2026-01-01T00:00:00", "1767225600"]
)
def test_what_is_no_time_is_refused(shared_client, time):
    answer = shared_client.get("/v1/evaluations", params={"since": time})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["parameter"] == "since"


def test_a_record_that_a_client_has_is_not_sent_again(client):
    kept = client.evaluate(axle=TARN)
    tag = client.get(kept.headers["location"]).headers["etag"]
    again = client.get(kept.headers["location"], headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")


def test_the_question_is_stored_with_its_digest_and_its_revisions(client):
    record = client.evaluate(**WHOLE).json()
    with client.app.state.service.database.reading() as connection:
        row = connection.execute(text("SELECT request, request_sha256, revisions FROM evaluation")).one()
    asked, digest, revisions = row
    assert hashlib.sha256(asked.encode()).hexdigest() == digest == record["provenance"]["request_sha256"]
    assert json.loads(asked)["duty"] == "unsealed_touring"
    stated = record["provenance"]
    assert json.loads(revisions) == {
        "vehicle": stated["vehicle_revision"],
        "axle": stated["axle_revision"],
        "parts": stated["part_revisions"],
    }
