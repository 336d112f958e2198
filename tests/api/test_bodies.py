"""Bodies that are no JSON, or JSON that no careful reader takes: told so, never guessed at, never a failure."""

import json

import pytest

MACPHERSON = '{"axle": {"inline": {"layout": "macpherson", "travel": {"stations": []}, %s}}}'
STATION = '{"axle": {"inline": {"layout": "macpherson", "travel": {"stations": [{"at": "ride", %s}]}}}}'
LOADED = '{"axle": {"vehicle": "x", "end": "front"}, "load": {"accessories": [{%s}]}}'
PREFIX = '{"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, '


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("{", "is no JSON"),
        ("{'axle': 1}", "is no JSON"),
        ('{"axle": 01}', "is no JSON"),
        ("[1] 2", "is no JSON"),
        ('{"axle": "\t"}', "is no JSON"),
        (b'{"axle": "\xff"}', "is not UTF-8"),
        (b"\xff\xfe{\x00}\x00", "is not UTF-8"),
        (PREFIX + '"duty": "\\ud800"}', "unpaired surrogate"),
        (PREFIX + '"\\uDFFF": 1}', "unpaired surrogate"),
        (PREFIX + '"axle": {"vehicle": "x", "end": "front"}}', '"axle" stands twice'),
        ('{"axle": {"inline": {"layout": "a", "layout": "b"}}}', '"layout" stands twice'),
        ("[" * 100_000, "nested too deeply"),
        ('{"axle":' * 100_000, "nested too deeply"),
    ],
)
def test_what_cannot_be_read_is_400(shared_client, text, said):
    answer = shared_client.send_text(text)
    assert answer.status_code == 400
    assert answer.json()["type"] == "/problems/malformed-body"
    assert said in answer.json()["detail"]


@pytest.mark.parametrize(
    ("text", "pointer"),
    [
        ("null", ""),
        ("[]", ""),
        ('"text"', ""),
        ("1e999", ""),
        ("NaN", ""),
        ("[" * 500 + "]" * 500, ""),
        (PREFIX + '"target_lift_mm": NaN}', "/target_lift_mm"),
        (PREFIX + '"target_lift_mm": -Infinity}', "/target_lift_mm"),
        (PREFIX + '"target_lift_mm": 1e999}', "/target_lift_mm"),
        (PREFIX + '"target_lift_mm": 1' + "0" * 5000 + "}", "/target_lift_mm"),
        (PREFIX + '"target_lift_mm": {"value": 40, "plus_minus": NaN}}', "/target_lift_mm/plus_minus"),
        (PREFIX + '"target_lift_mm": {"value": 40, "plus_minus": -1}}', "/target_lift_mm/plus_minus"),
        (PREFIX + '"parts": {"sku": "X"}}', "/parts"),
        (PREFIX + '"parts": [{}]}', "/parts/0/sku"),
        (PREFIX + '"parts": [{"sku": "X", "part": {"kind": "strut"}}]}', "/parts/0/sku"),
        (PREFIX + '"parts": [{"part": null}]}', "/parts/0/part"),
        (PREFIX + '"parts": [{"part": {"kind": "coil_spring", "coil_spring": 1}}]}', "/parts/0/part/coil_spring"),
        (PREFIX + '"parts": [{"part": {"kind": "brake_hose", "#number": 1}}]}', "/parts/0/part/#number"),
        (PREFIX + '"parts": [{"part": {"kind": "leaf_block", "height_mm": 50}}]}', "/parts/0/part/kind"),
        (PREFIX + '"parts": [{"sku": "X", "quantity": 1.5}]}', "/parts/0/quantity"),
        (PREFIX + '"parts": [{"sku": "X", "quantity": 0}]}', "/parts/0/quantity"),
        (PREFIX + '"parts": [{"sku": "\\u0000"}]}', "/parts/0/sku"),
        (PREFIX + '"parts": [{"sku": "X\\n"}]}', "/parts/0/sku"),
        (PREFIX + '"a/b~c": 1}', "/a~1b~0c"),
        (PREFIX + '"record": 1}', "/record"),
        (PREFIX + '"record": "true"}', "/record"),
        (PREFIX + '"policy": "lenient"}', "/policy"),
        (PREFIX + '"duty": null}', "/duty"),
        (PREFIX + '"load": {"accessories": [{"name": "x"}]}}', "/load/accessories/0/mass_kg"),
        (LOADED % '"name": "\\u0007", "mass_kg": 1, "behind_front_axle_mm": 1', "/load/accessories/0/name"),
        (STATION % '"seat_gap_mm": "280"', "/axle/inline/travel/stations/0/seat_gap_mm"),
        (MACPHERSON % '"fitted": {"strut": {"kind": "strut", "length": 1}}', "/axle/inline/fitted/strut/length"),
        (MACPHERSON % '"fitted": {"spring": {"kind": "strut"}}', "/axle/inline/fitted/spring/kind"),
        (MACPHERSON % '"limits": {"brake_hose": 640}', "/axle/inline/limits/brake_hose"),
        ('{"axle": {"inline": {"layout": "macpherson", "travel": {"stations": []}}, "vehicle": "x"}}', "/axle/vehicle"),
        ('{"axle": {"vehicle": "x"}}', "/axle/end"),
        ('{"axle": "front"}', "/axle"),
    ],
)
def test_what_is_not_valid_is_422_at_its_field(shared_client, text, pointer):
    answer = shared_client.send_text(text)
    assert answer.status_code == 422
    assert pointer in [fault["pointer"] for fault in answer.json()["errors"]]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("40", "must be a number, not text"),
        (True, "must be a number, not true or false"),
        ([40], "must be a number, not a list"),
        ({"value": 40, "plus_minus": "1"}, "must be a number, not text"),
        ({"value": 40}, "is missing"),
        ({"value": 40, "plus_minus": 1, "unit": "mm"}, "is not known here: check how it is spelt"),
        (2_000_000, "must be 1,000,000 or less"),
    ],
)
def test_what_is_wrong_is_said_in_plain_words(shared_client, value, said):
    answer = shared_client.send_text(PREFIX + f'"target_lift_mm": {json.dumps(value)}}}')
    assert [fault["detail"] for fault in answer.json()["errors"]] == [said]


@pytest.mark.parametrize(
    ("quantity", "said"),
    [(10**24, "is too large a number"), (1.5, "must be a whole number"), (1e-9, "must be a whole number")],
)
def test_a_whole_number_beyond_all_bounds_is_not_called_no_whole_number(shared_client, quantity, said):
    answer = shared_client.send_text(PREFIX + f'"parts": [{{"sku": "X", "quantity": {quantity}}}]}}')
    assert answer.json()["errors"] == [{"pointer": "/parts/0/quantity", "detail": said}]


def test_a_parameter_that_is_neither_true_nor_false_is_told_in_our_words(shared_client):
    answer = shared_client.post("/v1/imports?dry_run=maybe", {})
    assert answer.json()["errors"] == [{"parameter": "dry_run", "detail": "must be true or false"}]


@pytest.mark.parametrize(
    "declared",
    [
        "application/json",
        "Application/JSON; charset=UTF-8",
        'application/json;charset="utf-8"',
        "application/merge+json",
    ],
)
def test_json_may_be_declared_in_any_usual_way(shared_client, declared):
    answer = shared_client.request(
        "POST", "/v1/evaluations", content=PREFIX + '"record": false}', headers={"Content-Type": declared}
    )
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "declared",
    [None, "text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1", "json", ""],
)
def test_anything_else_is_415(shared_client, declared):
    headers = {} if declared is None else {"Content-Type": declared}
    answer = shared_client.request("POST", "/v1/evaluations", content=PREFIX + '"record": false}', headers=headers)
    assert answer.status_code == 415
    assert "Content-Type: application/json" in answer.json()["detail"]


@pytest.mark.parametrize("first", ["application/json", "application/json; charset=utf-8"])
def test_what_is_declared_twice_is_415(shared_client, first):
    content, plain = PREFIX + '"record": false}', ("Content-Type", "text/plain")
    twice = shared_client.request("POST", "/v1/evaluations", content=content, headers=[("Content-Type", first), plain])
    assert twice.status_code == 415
    packed = [("Content-Type", first), ("Content-Encoding", "identity"), ("Content-Encoding", "gzip")]
    assert shared_client.request("POST", "/v1/evaluations", content=content, headers=packed).status_code == 415


def test_a_packed_body_is_415(shared_client):
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    content = PREFIX + '"record": false}'
    assert shared_client.request("POST", "/v1/evaluations", content=content, headers=headers).status_code == 415
    headers["Content-Encoding"] = "identity"
    assert shared_client.request("POST", "/v1/evaluations", content=content, headers=headers).status_code == 200


def test_a_body_is_counted_to_the_byte(shared_client):
    fitting = PREFIX + '"record": false}'
    assert shared_client.send_text(fitting + " " * (1_048_576 - len(fitting))).status_code == 200
    assert shared_client.send_text(fitting + " " * (1_048_577 - len(fitting))).status_code == 413


def test_a_body_that_is_over_the_limit_is_not_read_even_where_none_is_wanted(shared_client):
    answer = shared_client.request("DELETE", "/v1/wheels", content=b" " * 1_048_577)
    assert answer.status_code == 413


def test_a_whole_number_may_be_written_with_a_point(client):
    def asked(quantity):
        return client.send_text(PREFIX + f'"parts": [{{"sku": "KES-TOP-20", "quantity": {quantity}}}]}}')

    def told(answer):
        return {name: value for name, value in answer.json().items() if name not in ("id", "provenance")}

    plain, pointed = asked("1"), asked("1.0")
    assert (plain.status_code, pointed.status_code) == (201, 201)
    assert told(pointed) == told(plain)
    sha256 = {answer.json()["provenance"]["request_sha256"] for answer in (plain, pointed, asked("10e-1"))}
    assert len(sha256) == 1


def test_every_whole_number_of_a_body_may_be_and_is_kept_as_one(client):
    kit = {"sku": "INV-KIT", "name": "N", "supplier": "S", "kind": "kit", "parts": [{"sku": "KES-TOP-20"}]}
    kit["parts"][0]["quantity"] = 2.0
    added = client.post("/v1/parts", {**kit, "revision": 7.0})
    assert (added.status_code, json.dumps(added.json()["parts"][0]["quantity"])) == (201, "2")
    asked = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "kinds": ["strut_top_spacer"]}
    numbers = {"most_parts": 3.0, "near_misses": 0.0, "limit": 1.0}
    found = client.post("/v1/searches", asked | numbers, headers={"Prefer": "wait=30"})
    assert found.status_code == 201
    assert (len(found.json()["items"]), found.json()["near_misses"]) == (1, [])


@pytest.mark.parametrize("text", ["1.5", '"1"', "true", "1e400", "NaN", "1e300", "null"])
def test_what_is_no_whole_number_is_refused(shared_client, text):
    answer = shared_client.send_text(PREFIX + f'"parts": [{{"sku": "KES-TOP-20", "quantity": {text}}}]}}')
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/parts/0/quantity"]


def test_a_time_that_cannot_be_is_told_in_plain_words(shared_client):
    (fault,) = shared_client.get("/v1/evaluations?since=2026-02-30T00:00:00Z").json()["errors"]
    assert fault == {"parameter": "since", "detail": "cannot be: day is out of range for month"}


def test_many_faults_are_cut_short(shared_client):
    parts = json.dumps([{"sku": 1}] * 100)
    answer = shared_client.send_text(PREFIX + f'"unknown": 1, "parts": {parts}}}')
    assert len(answer.json()["errors"]) == 100
