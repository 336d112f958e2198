"""The shelf check over HTTP: for each part on sale what an evaluation of it alone says, and no answer out of date."""

import asyncio
import threading

import orjson
import pytest

from service.api.schemas.fits import ShelfFits
from service.shelf import standing
from service.shelf.judging import judge_shelf
from service.shelf.sweeping import Sweep, sweep

FITS = "/v1/vehicles/tarn-300-double-cab/axles/front/fits"
TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
AXLES = ("tarn-300-double-cab/front", "wendrith-4-estate/front", "hathrop-260-pickup/rear")


def fits(client, kind=None, path=FITS, **headers):
    return client.get(path, params={"kind": kind} if kind else {}, headers=headers)


@pytest.mark.parametrize("axle", AXLES)
def test_each_part_is_told_what_an_evaluation_of_it_alone_says(shared_client, axle):
    vehicle, end = axle.split("/")
    answer = fits(shared_client, path=f"/v1/vehicles/{vehicle}/axles/{end}/fits")
    ShelfFits.model_validate_json(answer.content)
    items = answer.json()["items"]
    assert [item["sku"] for item in items] == sorted(item["sku"] for item in items)
    assert len(items) > 5
    for item in items:
        asked = {"axle": {"vehicle": vehicle, "end": end}, "parts": [{"sku": item["sku"]}], "record": False}
        alone = shared_client.evaluate(**asked)
        if item["verdict"] is None:
            assert (alone.status_code, item["action"]) == (422, "stop")
            assert item["reason"]["because"] in alone.text
            continue
        record = alone.json()
        assert {name: record[name] for name in ("verdict", "action", "lift_mm")} == {
            name: item[name] for name in ("verdict", "action", "lift_mm")
        }
        assert record["headline"].endswith(item["reason"]["because"])


def test_one_kind_alone(shared_client):
    every = fits(shared_client).json()
    for kind in {item["kind"] for item in every["items"]}:
        some = fits(shared_client, kind).json()
        assert some["items"] == [item for item in every["items"] if item["kind"] == kind]
    assert {item["kind"] for item in every["items"]} >= {"kit", "accessory", "coil_spring"}


def test_it_need_not_be_asked_twice_until_something_changes(client):
    first = fits(client, "strut_top_spacer")
    assert first.headers["cache-control"] == "private, no-cache"
    known = {"If-None-Match": first.headers["etag"]}
    assert fits(client, "strut_top_spacer", **known).status_code == 304
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"1"'})
    again = fits(client, "strut_top_spacer", **known)
    assert again.status_code == 200
    assert again.headers["etag"] != first.headers["etag"]
    assert "KES-TOP-20" not in {item["sku"] for item in again.json()["items"]}


@pytest.mark.parametrize(
    "path", ["/v1/vehicles/nobodys/axles/front/fits", "/v1/vehicles/veldram-18-flatbed/axles/rear/fits"]
)
def test_what_is_not_there_is_told_so(shared_client, path):
    assert shared_client.get(path).status_code == 404


def test_a_withdrawn_vehicle_has_no_shelf(client):
    client.delete("/v1/vehicles/tarn-300-double-cab", headers={"If-Match": '"1"'})
    answer = fits(client)
    assert answer.status_code == 404
    assert "withdrawn" in answer.json()["detail"]


def swept(client, **options):
    return sweep(client.app.state.service.database, Sweep(processes=1, **options))


def test_the_table_and_the_spot_say_the_same(client, monkeypatch):
    on_the_spot = fits(client).content
    assert swept(client).swept > 0

    def never(_job):
        raise AssertionError("nothing is to be judged")

    monkeypatch.setattr("service.api.fits.judge_shelf", never)
    assert fits(client).content == on_the_spot


@pytest.mark.parametrize("known", ["the tag", "*"])
@pytest.mark.parametrize(
    "path", ["/v1/vehicles/nobodys/axles/front/fits", "/v1/vehicles/veldram-18-flatbed/axles/rear/fits"]
)
def test_what_is_not_there_is_not_unchanged(shared_client, path, known):
    tag = fits(shared_client).headers["etag"]
    vehicle, end = path.split("/")[3], path.split("/")[5]
    tag = tag.replace("tarn-300-double-cab", vehicle).replace("front", end)
    assert shared_client.get(path, headers={"If-None-Match": tag if known != "*" else "*"}).status_code == 404


def test_a_withdrawn_vehicle_is_not_unchanged(client):
    client.delete("/v1/vehicles/tarn-300-double-cab", headers={"If-Match": '"1"'})
    assert fits(client, **{"If-None-Match": "*"}).status_code == 404


def test_each_list_has_a_tag_of_its_own(shared_client):
    tags = {
        fits(shared_client, kind, f"/v1/vehicles/{axle.split('/')[0]}/axles/{axle.split('/')[1]}/fits").headers["etag"]
        for axle in AXLES
        for kind in (None, "kit", "strut")
    }
    assert len(tags) == 9
    assert fits(shared_client, **{"If-None-Match": "*"}).status_code == 304


def test_what_is_judged_on_the_spot_is_judged_where_batches_are(client, monkeypatch):
    threads = []

    def judged(job):
        threads.append(threading.current_thread())
        return judge_shelf(job)

    monkeypatch.setattr("service.api.fits.judge_shelf", judged)
    fits(client)
    assert threads == [asyncio.run(client.app.state.service.batches.run(threading.current_thread))]


@pytest.mark.parametrize("change", ["part", "axle", "vehicle", "kit's part"])
def test_what_has_changed_since_the_sweep_is_judged_on_the_spot(client, change):
    swept(client)
    path = {
        "part": "/v1/parts/KES-TOP-20",
        "kit's part": "/v1/parts/KES-TOP-20",
        "axle": "/v1/vehicles/tarn-300-double-cab/axles/front",
        "vehicle": "/v1/vehicles/tarn-300-double-cab",
    }[change]
    body = client.get(path).json()
    if "part" in change:
        body["thickness_mm"] = 1
    elif change == "axle":
        body["limits"]["upper_ball_joint"]["reached_at_arch_to_hub_mm"] = 560
    else:
        body["vehicle_masses"]["front_axle_kg"] = 1300
    before = {item["sku"]: item for item in fits(client).json()["items"]}
    assert client.put(path, json=body, headers={"If-Match": '"1"'}).status_code == 200
    after = {item["sku"]: item for item in fits(client).json()["items"]}
    for sku in ("KES-TOP-20", "KES-KIT-T60", "KES-SPR-4030"):
        record = client.evaluate(axle=TARN, parts=[{"sku": sku}], record=False).json()
        assert after[sku]["verdict"] == record["verdict"]
        assert record["headline"].endswith(after[sku]["reason"]["because"])
    assert after != before


def test_a_kit_of_what_has_been_withdrawn_is_to_stop(client):
    client.delete("/v1/parts/KES-TOP-20", headers={"If-Match": '"1"'})
    kit = next(item for item in fits(client, "kit").json()["items"] if item["sku"] == "KES-KIT-T60")
    assert (kit["verdict"], kit["action"], kit["reason"]["check"]) == (None, "stop", None)
    refused = "In the kit KES-KIT-T60: KES-TOP-20 has been withdrawn: it must not go into a new build."
    assert kit["reason"]["because"] == refused


@pytest.mark.parametrize("fits_of_kit", [[], ["tarn-300-double-cab"]])
def test_a_kit_of_what_is_not_sold_for_the_axle_is_to_stop(client, fits_of_kit):
    shared = {"name": "N", "supplier": "S"}
    other = {"sku": "INV-1", **shared, "kind": "strut_top_spacer", "thickness_mm": 1, "fits": ["wendrith-4-estate"]}
    kit = {"sku": "INV-KIT", **shared, "kind": "kit", "parts": [{"sku": "INV-1"}], "fits": fits_of_kit}
    for body in (other, kit):
        assert client.post("/v1/parts", body).status_code == 201
    refused = "In the kit INV-KIT: INV-1 is not sold for the front axle of tarn-300-double-cab."
    (found,) = [item for item in fits(client, "kit").json()["items"] if item["sku"] == "INV-KIT"]
    assert (found["verdict"], found["action"]) == (None, "stop")
    assert found["reason"] == {"check": None, "because": refused}
    alone = client.evaluate(axle=TARN, parts=[{"sku": "INV-KIT"}], record=False)
    assert (alone.status_code, alone.json()["errors"][0]["detail"]) == (422, refused)


def test_more_parts_than_are_evaluated_at_once(client, monkeypatch):
    at_once = fits(client).content
    monkeypatch.setattr("service.shelf.judging.AT_ONCE", 4)
    assert len(orjson.loads(at_once)["items"]) > 8
    assert fits(client).content == at_once


def test_a_kit_of_what_is_sold_for_another_vehicle_is_to_stop_as_an_evaluation_refuses_it(client):
    kit = {"sku": "INV-KIT-U", "name": "N", "supplier": "S", "kind": "kit", "parts": [{"sku": "PEL-HOSE-U"}]}
    assert client.post("/v1/parts", json=kit).status_code == 201
    told = next(item for item in fits(client, "kit").json()["items"] if item["sku"] == "INV-KIT-U")
    because = "In the kit INV-KIT-U: PEL-HOSE-U is not sold for the front axle of tarn-300-double-cab."
    assert (told["verdict"], told["action"], told["reason"]["because"]) == (None, "stop", because)
    assert client.evaluate(axle=TARN, parts=[{"sku": "INV-KIT-U"}]).json()["errors"][0]["detail"] == because


def test_judgements_of_another_engine_are_not_used(client, monkeypatch):
    swept(client)
    monkeypatch.setattr("service.shelf.judging.ENGINE_VERSION", "another")
    with client.app.state.service.database.reading() as connection:
        shelf = standing.axle_shelf(connection, ("tarn-300-double-cab", "front"))
    assert shelf.held == {}
