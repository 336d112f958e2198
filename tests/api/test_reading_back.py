"""What reading gives can be sent back as it is: what only reading adds is declared so, and ignored."""

import pytest

READ_ONLY = {"revision", "created_at", "revised_at"}
PATHS = [
    "/v1/parts/KES-SPR-4030",
    "/v1/vehicles/tarn-300-double-cab",
    "/v1/vehicles/tarn-300-double-cab/axles/front",
]


@pytest.mark.parametrize("path", PATHS)
def test_what_was_read_can_be_put_back(client, path):
    read = client.get(path)
    put = client.put(path, read.json(), headers={"If-Match": read.headers["etag"]})
    assert put.status_code == 200, put.text
    assert put.json() == {**read.json(), "revision": 2, "revised_at": put.json()["revised_at"]}


@pytest.mark.parametrize("path", PATHS)
def test_what_only_reading_adds_changes_nothing(client, path):
    read = client.get(path)
    told = {"revision": 77, "created_at": "1999-01-01T00:00:00Z", "revised_at": "1999-01-01T00:00:00Z"}
    put = client.put(path, {**read.json(), **told}, headers={"If-Match": '"1"'})
    assert put.status_code == 200
    assert put.json()["revision"] == 2
    assert put.json()["created_at"] == read.json()["created_at"]
    assert put.json()["revised_at"] > "2020"


def test_the_status_of_an_axle_is_that_of_its_vehicle_and_is_ignored(client):
    path = PATHS[2]
    put = client.put(path, {**client.get(path).json(), "status": "withdrawn"}, headers={"If-Match": '"1"'})
    assert (put.status_code, put.json()["status"]) == (200, "active")


@pytest.mark.parametrize(
    ("path", "field", "other"),
    [(PATHS[0], "sku", "KES-OTHER"), (PATHS[1], "vehicle_id", "other"), (PATHS[2], "vehicle", "other"),
     (PATHS[2], "end", "rear")],
)  # fmt: skip
def test_the_body_of_another_thing_is_refused(client, path, field, other):
    answer = client.put(path, {**client.get(path).json(), field: other}, headers={"If-Match": '"1"'})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == f"/{field}"
    assert client.get(path).json()["revision"] == 1


def test_they_are_held_to_their_form_all_the_same(client):
    body = {**client.get(PATHS[0]).json(), "revision": "one"}
    answer = client.put(PATHS[0], body, headers={"If-Match": '"1"'})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/revision")


def test_an_axle_that_comes_with_a_request_has_no_revision(client):
    axle = client.get(PATHS[2]).json()
    answer = client.evaluate(axle={"inline": axle})
    assert answer.status_code == 422
    assert {fault["pointer"].rsplit("/", 1)[-1] for fault in answer.json()["errors"]} >= READ_ONLY


def test_the_document_declares_them_read_only(client):
    schemas = client.get("/openapi.json").json()["components"]["schemas"]
    bodies = [name for name in schemas if {"sku", "vehicle_id"} & set(schemas[name].get("properties", ()))]
    bodies = [name for name in bodies if "revision" in schemas[name]["properties"]] + ["MeasuredAxle", "StoredAxle"]
    bodies.remove("ShelfItem")  # it is no body of the catalogue, and is never sent back
    assert len(bodies) > 20
    for name in bodies:
        assert all(schemas[name]["properties"][field]["readOnly"] for field in READ_ONLY), name


def test_what_is_accepted_may_be_said_in_several_lines(shared_client):
    record = shared_client.evaluate(axle={"vehicle": "tarn-300-double-cab", "end": "front"}).headers["location"]
    drawing = shared_client.get(record, headers=[("Accept", "text/html;q=0.5"), ("Accept", "image/svg+xml")])
    assert drawing.headers["content-type"].startswith("image/svg+xml")
