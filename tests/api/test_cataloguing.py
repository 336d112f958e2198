"""Vehicles, axles and parts over HTTP: revisions, entity tags, withdrawal, listings."""

import pytest

VEHICLE = {
    "vehicle_id": "sallow-2",
    "name": "Sallow 2",
    "years": "2011 to 2019",
    "vehicle_masses": {"wheelbase_mm": 2600, "front_axle_kg": {"value": 800, "plus_minus": 5}},
}
SPACER = {
    "sku": "INV-TOP-15",
    "name": "Strut-top spacer, 15 mm",
    "supplier": "Invented Works",
    "kind": "strut_top_spacer",
    "thickness_mm": 15,
}
AXLE = {"layout": "macpherson", "travel": {"stations": [{"at": "ride", "arch_to_hub_mm": 400, "seat_gap_mm": 250}]}}
ADDED = ("revision", "created_at", "revised_at")


def bare(document, *more):
    return {name: value for name, value in document.items() if name not in (*ADDED, *more)}


@pytest.mark.parametrize(
    ("shelf", "name", "body"), [("/v1/vehicles", "sallow-2", VEHICLE), ("/v1/parts", "INV-TOP-15", SPACER)]
)
class TestVehiclesAndParts:
    def test_what_is_added_can_be_read(self, client, shelf, name, body):
        added = client.post(shelf, body)
        assert added.status_code == 201
        assert added.headers["location"] == f"{shelf}/{name}"
        assert added.headers["etag"] == '"1"'
        read = client.get(f"{shelf}/{name}")
        assert (read.status_code, read.content, read.headers["etag"]) == (200, added.content, '"1"')
        assert read.json()["status"] == "active"
        assert bare(read.json(), "status", "fits") == body

    def test_a_name_is_given_once(self, client, shelf, name, body):
        assert client.post(shelf, body).status_code == 201
        again = client.post(shelf, body)
        assert again.status_code == 409
        assert name in again.json()["detail"]

    def test_a_new_thing_needs_its_name(self, client, shelf, name, body):
        nameless = {field: value for field, value in body.items() if value != name}
        answer = client.post(shelf, nameless)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["detail"] == "is missing"

    def test_a_change_makes_a_revision_and_keeps_the_old_one(self, client, shelf, name, body):
        client.post(shelf, body)
        nameless = {field: value for field, value in body.items() if value != name}
        changed = client.put(f"{shelf}/{name}", {**nameless, "name": "Another name"}, headers={"If-Match": '"1"'})
        assert (changed.status_code, changed.headers["etag"]) == (200, '"2"')
        assert changed.json()["name"] == "Another name"
        assert client.get(f"{shelf}/{name}/revisions/1").json()["name"] == body["name"]
        history = client.get(f"{shelf}/{name}/revisions").json()["items"]
        assert [(item["revision"], item["name"]) for item in history] == [(2, "Another name"), (1, body["name"])]

    def test_a_change_must_say_what_it_was_made_from(self, client, shelf, name, body):
        client.post(shelf, body)
        for method, content in (("PUT", body), ("DELETE", None)):
            missing = client.request(method, f"{shelf}/{name}", json=content)
            assert missing.status_code == 428
            for stale in ('"2"', 'W/"1"', "1", '""'):
                refused = client.request(method, f"{shelf}/{name}", json=content, headers={"If-Match": stale})
                assert refused.status_code == 412
                assert refused.headers["etag"] == '"1"'
        assert client.put(f"{shelf}/{name}", body, headers={"If-Match": '"7", "1"'}).status_code == 200
        assert client.put(f"{shelf}/{name}", body, headers={"If-Match": "*"}).status_code == 200

    def test_a_name_cannot_be_changed(self, client, shelf, name, body):
        client.post(shelf, body)
        renamed = {field: "other-1" if value == name else value for field, value in body.items()}
        answer = client.put(f"{shelf}/{name}", renamed, headers={"If-Match": '"1"'})
        assert answer.status_code == 422
        assert "cannot be changed" in answer.json()["errors"][0]["detail"]

    def test_withdrawn_it_stays_readable_and_leaves_the_listing(self, client, shelf, name, body):
        client.post(shelf, body)
        gone = client.delete(f"{shelf}/{name}", headers={"If-Match": '"1"'})
        assert (gone.status_code, gone.content, gone.headers["etag"]) == (204, b"", '"2"')
        again = client.delete(f"{shelf}/{name}", headers={"If-Match": '"2"'})
        assert (again.status_code, again.headers["etag"]) == (204, '"2"')
        assert client.get(f"{shelf}/{name}").json()["status"] == "withdrawn"
        assert client.get(f"{shelf}/{name}/revisions/1").json()["status"] == "active"
        key = "sku" if "sku" in body else "vehicle_id"

        def listed(status):
            return {item[key] for item in client.get(f"{shelf}?limit=200&status={status}").json()["items"]}

        assert name not in listed("active")
        assert listed("withdrawn") == {name}
        assert name in listed("any")
        back = client.put(f"{shelf}/{name}", body, headers={"If-Match": '"2"'})
        assert (back.status_code, back.json()["status"]) == (200, "active")

    def test_what_a_client_has_is_not_sent_again(self, client, shelf, name, body):
        client.post(shelf, body)
        for path in (f"{shelf}/{name}", f"{shelf}/{name}/revisions/1"):
            for known in ('"1"', 'W/"1"', '"0", "1"', "*"):
                answer = client.get(path, headers={"If-None-Match": known})
                assert (answer.status_code, answer.content, answer.headers["etag"]) == (304, b"", '"1"')
            assert client.get(path, headers={"If-None-Match": '"2"'}).status_code == 200

    @pytest.mark.parametrize("path", ["/no-such", "/no-such/revisions", "/no-such/revisions/1", "/%00", "/a%20b"])
    def test_what_is_not_there_is_404(self, client, shelf, name, body, path):  # noqa: ARG002 — the class names them
        answer = client.get(shelf + path)
        assert answer.status_code == 404
        assert answer.json()["type"] == "/problems/not-found"

    @pytest.mark.parametrize("number", ["1.0", "1_0", "+1", "-1", "0", "one", "1" * 30])
    def test_a_revision_has_a_plain_number(self, client, shelf, name, body, number):
        client.post(shelf, json=body)
        assert client.get(f"{shelf}/{name}/revisions/{number}").status_code == 404

    def test_a_change_of_what_is_not_there_is_404(self, client, shelf, name, body):
        for method, content in (("PUT", body), ("DELETE", None)):
            answer = client.request(method, f"{shelf}/{name}", json=content, headers={"If-Match": '"1"'})
            assert answer.status_code == 404


def test_parts_are_listed_page_by_page_and_narrowed_down(client):
    whole = client.get("/v1/parts?limit=200").json()
    skus = [part["sku"] for part in whole["items"]]
    assert skus == sorted(skus)
    assert whole["next"] is None
    found, cursor = [], None
    while True:
        page = client.get("/v1/parts", params={"limit": 10} | ({"cursor": cursor} if cursor else {})).json()
        found += [part["sku"] for part in page["items"]]
        cursor = page["next"]
        if cursor is None:
            break
    assert found == skus
    springs = client.get("/v1/parts?kind=coil_spring&supplier=Kestvale%20Springworks&q=PROGRESSIVE").json()["items"]
    assert {part["sku"] for part in springs} == {"KES-PRO-4060", "KES-PRO-W2030"}


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("limit=0", "limit"),
        ("limit=201", "limit"),
        ("limit=ten", "limit"),
        ("cursor=!", "cursor"),
        ("cursor=AAAA", "cursor"),
        ("kind=spring", "kind"),
        ("suplier=X", "suplier"),
        ("q=%00", "q"),
        ("limit=1&limit=2", "limit"),
        ("kind=strut&q=a&kind=strut", "kind"),
        ("q=", "q"),
    ],
)
def test_a_query_that_cannot_be_is_refused_by_name(shared_client, query, parameter):
    answer = shared_client.get(f"/v1/parts?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["parameter"] == parameter


def test_the_cursor_of_another_listing_is_no_revision(shared_client):
    cursor = shared_client.get("/v1/parts?limit=1").json()["next"]
    answer = shared_client.get("/v1/parts/KES-TOP-20/revisions", params={"cursor": cursor})
    assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (422, "cursor")


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"thickness_mm": 0}, "/thickness_mm"),
        ({"thickness_mm": "15"}, "/thickness_mm"),
        ({"thickness_mm": {"value": 15}}, "/thickness_mm/plus_minus"),
        ({"thicknes_mm": 15}, "/thicknes_mm"),
        ({"kind": "spacer"}, "/kind"),
        ({"kind": None}, "/kind"),
        ({"name": ""}, "/name"),
        ({"name": "a\u0000b"}, "/name"),
        ({"supplier": 7}, "/supplier"),
        ({"sku": "a/b"}, "/sku"),
        ({"fits": ["Sallow 2"]}, "/fits/0"),
        ({"fits": "sallow-2"}, "/fits"),
        ({"status": "gone"}, "/status"),
    ],
)
def test_a_part_that_cannot_be_is_refused_at_its_field(client, changes, pointer):
    answer = client.post("/v1/parts", {**SPACER, **changes})
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


def test_the_physics_of_a_part_is_checked_before_it_is_catalogued(client):
    strut = {"sku": "INV-1", "name": "A strut", "supplier": "Invented Works", "kind": "strut", "seat_offset_mm": 200}
    answer = client.post("/v1/parts", {**strut, "extended_length_mm": 400, "closed_length_mm": 450})
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/closed_length_mm"]
    assert client.get("/v1/parts/INV-1").status_code == 404


@pytest.fixture
def vehicle(client):
    client.post("/v1/vehicles", VEHICLE)
    return "/v1/vehicles/sallow-2"


def test_the_first_axle_is_created_and_the_next_is_a_revision(client, vehicle):
    path = f"{vehicle}/axles/rear"
    assert client.get(path).status_code == 404
    early = client.put(path, AXLE, headers={"If-Match": '"1"'})
    assert (early.status_code, "etag" in early.headers) == (412, False)
    assert early.json()["detail"].startswith("It is not there yet")
    created = client.put(path, AXLE)
    assert (created.status_code, created.headers["etag"], created.headers["location"]) == (201, '"1"', path)
    assert created.json()["vehicle"] == "sallow-2"
    assert created.json()["end"] == "rear"
    assert created.json()["revision"] == 1
    assert client.put(path, AXLE).status_code == 428
    assert client.put(path, AXLE, headers={"If-Match": '"9"'}).status_code == 412
    changed = client.put(path, {**AXLE, "driven": False}, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed.headers["etag"]) == (200, '"2"')
    assert [item["driven"] for item in client.get(f"{path}/revisions").json()["items"]] == [False, True]
    assert client.get(f"{path}/revisions/1").json()["driven"] is True
    assert client.get(path).json() == changed.json()


def test_an_axle_belongs_to_a_vehicle_in_force(client, vehicle):
    assert client.put("/v1/vehicles/no-such/axles/front", AXLE).status_code == 404
    assert client.put(f"{vehicle}/axles/top", AXLE).status_code == 404
    client.delete(vehicle, headers={"If-Match": '"1"'})
    refused = client.put(f"{vehicle}/axles/front", AXLE)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/conflict")


def test_an_axle_is_withdrawn_with_its_vehicle(client, vehicle):
    path = f"{vehicle}/axles/front"
    active = client.put(path, AXLE)
    assert client.delete(vehicle, headers={"If-Match": "*"}).status_code == 204
    withdrawn = client.get(path, headers={"If-None-Match": active.headers["etag"]})
    assert (withdrawn.status_code, withdrawn.json()) == (200, {**active.json(), "status": "withdrawn"})
    known = client.get(path, headers={"If-None-Match": withdrawn.headers["etag"]})
    assert (known.status_code, known.headers["etag"]) == (304, withdrawn.headers["etag"])
    assert client.get(f"{path}/revisions/1").json() == active.json()
    for tag in (active.headers["etag"], withdrawn.headers["etag"]):
        assert client.put(path, AXLE, headers={"If-Match": tag}).status_code == 409
    assert client.put(vehicle, VEHICLE, headers={"If-Match": "*"}).status_code == 200
    again = client.get(path)
    assert (again.content, again.headers["etag"]) == (active.content, active.headers["etag"])


@pytest.mark.parametrize(
    ("travel", "pointer"),
    [
        ({"stations": []}, "/travel/stations"),
        ({"stations": [{"at": "ride"}]}, "/travel/stations/0"),
        ({"stations": [{"at": "ride", "seat_gap_mm": 1}]}, "/travel/stations/0/seat_gap_mm"),
        ({"stations": [{"at": "top"}]}, "/travel/stations/0/at"),
        ({}, "/travel/stations"),
        ({"stations": [], "grade": "guessed"}, "/travel/grade"),
        ({"grade": "surveyed"}, "/travel/hard_points"),
    ],
)
def test_an_axle_that_cannot_be_is_refused_at_its_field(client, vehicle, travel, pointer):
    answer = client.put(f"{vehicle}/axles/front", {**AXLE, "travel": travel})
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


def test_masses_are_checked_alone_and_with_the_axles(client, vehicle):
    impossible = {**VEHICLE, "vehicle_masses": {"wheelbase_mm": 3}}
    for answer in (
        client.post("/v1/vehicles", {**impossible, "vehicle_id": "sallow-3"}),
        client.put(vehicle, impossible, headers={"If-Match": '"1"'}),
    ):
        assert answer.status_code == 422
        assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/vehicle_masses/wheelbase_mm"]
