"""The way of one evaluation on PostgreSQL: what is kept there comes back as it was."""

import pytest

from service.app import create_app
from service.catalogue.upgrade import migrate
from service.settings import Settings


@pytest.fixture
def on_server(postgres_url, new_client):
    migrate(postgres_url)
    return new_client(create_app(Settings(database_url=postgres_url)))


def test_catalogue_evaluate_and_read_again(on_server, inline_axle):
    vehicle = {"vehicle_id": "sallow-2", "name": "Sållow «2»", "vehicle_masses": inline_axle["vehicle_masses"]}
    spacer = {"sku": "INV-TOP-15", "name": "Spacer", "supplier": "Invented Works", "kind": "strut_top_spacer"}
    assert on_server.post("/v1/vehicles", vehicle).status_code == 201
    assert on_server.put("/v1/vehicles/sallow-2/axles/front", inline_axle["inline"]).status_code == 201
    assert on_server.post("/v1/parts", {**spacer, "thickness_mm": 15}).status_code == 201
    assert on_server.post("/v1/parts", {**spacer, "thickness_mm": 15}).status_code == 409
    changed = on_server.put("/v1/parts/INV-TOP-15", {**spacer, "thickness_mm": 14}, headers={"If-Match": '"1"'})
    assert changed.status_code == 200
    kept = on_server.evaluate(axle={"vehicle": "sallow-2", "end": "front"}, parts=[{"sku": "INV-TOP-15"}])
    assert kept.status_code == 201
    assert kept.json()["provenance"]["part_revisions"] == {"INV-TOP-15": 2}
    assert on_server.get(kept.headers["location"]).content == kept.content
    (listed,) = on_server.get("/v1/evaluations?sku=INV-TOP-15&vehicle=sallow-2").json()["items"]
    assert listed["id"] == kept.json()["id"]
    assert on_server.get("/v1/vehicles/sallow-2").json()["name"] == vehicle["name"]
    assert on_server.get("/readyz").status_code == 200
