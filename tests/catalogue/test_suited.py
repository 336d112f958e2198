"""Which parts suit an axle: the index says what the bodies say, whoever wrote them, and before it was there."""

import json
from contextlib import closing

import pytest
from alembic import command
from sqlalchemy import text

from service.catalogue.bulk import Offered, put_all
from service.catalogue.references import catalogued_part
from service.catalogue.revisions import PARTS, create, current, revise, withdraw
from service.catalogue.suited import suited
from service.catalogue.upgrade import migrate, migration_config
from service.database import Database

AXLE = ("tarn", "front")
FITS = {
    "Z-any": [],
    "a-front": ["tarn/front"],
    "B-vehicle": ["tarn", "fell"],
    "É-both": ["tarn", "tarn/front"],
    "C-rear": ["tarn/rear"],
    "D-other": ["fell/front", "tarn-300"],
}
SUITING = ["B-vehicle", "Z-any", "a-front", "É-both"]


def part(sku, fits, kind="strut", supplier="Works"):
    return {"sku": sku, "fits": fits, "kind": kind, "supplier": supplier, "name": f"The {sku}"}


def searched(body):
    return {name: body[name] for name in ("kind", "supplier", "name")}


def put(connection, *bodies):
    put_all(connection, PARTS, [Offered((body["sku"],), body, searched(body)) for body in bodies])


def skus(connection, *asked):
    return [each.sku for each in suited(connection, *asked)]


@pytest.fixture
def connection(migrated_url):
    with closing(Database(migrated_url)) as database, database.writing() as connection:
        yield connection


@pytest.mark.parametrize("way", ["one by one", "at once"])
def test_parts_for_the_axle_its_vehicle_or_any_in_the_order_of_unicode(connection, way):
    bodies = [part(sku, fits) for sku, fits in FITS.items()]
    if way == "at once":
        put(connection, *bodies)
    for body in bodies if way == "one by one" else ():
        create(connection, PARTS, (body["sku"],), body, searched(body))
    assert skus(connection, AXLE) == SUITING
    assert skus(connection, ("fell", "rear")) == ["B-vehicle", "Z-any"]
    assert skus(connection, None) == ["Z-any"]


def test_what_is_told_of_a_part(connection):
    put(connection, part("A", []))
    put(connection, part("A", [], supplier="Others"))
    (only,) = suited(connection, AXLE)
    assert (only.sku, only.revision, only.kind, only.supplier, only.name) == ("A", 2, "strut", "Others", "The A")


def test_kinds_and_suppliers_narrow_it_down(connection):
    put(connection, part("A", []), part("B", [], "bump_stop"), part("C", [], "bump_stop", "Others"))
    assert skus(connection, AXLE, ["bump_stop", "strut"]) == ["A", "B", "C"]
    assert skus(connection, AXLE, {"bump_stop"}) == ["B", "C"]
    assert skus(connection, AXLE, None, ["Others"]) == ["C"]
    assert skus(connection, AXLE, ["strut"], ["Others"]) == skus(connection, AXLE, []) == []


def test_the_index_follows_every_revision(connection):
    first = create(connection, PARTS, ("A",), part("A", ["tarn/rear"]), searched(part("A", [])))
    assert skus(connection, AXLE) == []
    second = revise(connection, PARTS, first, part("A", ["tarn", "fell"]), searched(part("A", [])))
    assert skus(connection, AXLE) == ["A"]
    gone = withdraw(connection, PARTS, second)
    assert skus(connection, AXLE) == []
    revise(connection, PARTS, gone, part("A", []), searched(part("A", [])))
    assert skus(connection, AXLE) == skus(connection, ("any-other", "rear")) == ["A"]
    put(connection, part("A", ["fell"]))
    assert skus(connection, AXLE) == []
    put(connection, part("A", ["fell"]))  # it holds already
    assert skus(connection, ("fell", "rear")) == ["A"]


def test_more_parts_than_one_statement_takes(connection):
    put(connection, *(part(f"P-{number:04}", ["tarn", "tarn/front", "fell"]) for number in range(1201)))
    assert len(skus(connection, AXLE)) == 1201
    assert current(connection, PARTS, ("P-1200",)).body["fits"] == ["tarn", "tarn/front", "fell"]


def test_the_index_says_what_the_demo_catalogue_says(demo_url):
    with closing(Database(demo_url)) as database, database.reading() as connection:
        rows = connection.execute(text("SELECT part_revision.sku, body FROM part JOIN part_revision USING (sku)"))
        parts = {sku: catalogued_part(json.loads(body)) for sku, body in rows}
        for axle in (("tarn-300-double-cab", "front"), ("tarn-300-double-cab", "rear"), ("unheard-of", "front")):
            found = skus(connection, axle)
            assert found == sorted(sku for sku, each in parts.items() if each.suits(*axle))
            assert found


def test_parts_of_before_are_in_the_index_too(empty_url):
    command.upgrade(migration_config(empty_url), "0005")
    more_than_at_once = {f"M-{number:04}": ["tarn/rear"] for number in range(600)}
    with closing(Database(empty_url)) as database, database.writing() as connection:
        for sku, fits in {**FITS, **more_than_at_once}.items():
            _insert_as_before(connection, sku, 2, {1: part(sku, ["tarn/front"]), 2: part(sku, fits)})
        _insert_as_before(connection, "K", 1, {1: {name: value for name, value in part("K", 0).items() if value}})
    migrate(empty_url)
    with closing(Database(empty_url)) as database, database.reading() as connection:
        assert skus(connection, AXLE) == sorted([*SUITING, "K"])
        assert len(skus(connection, ("tarn", "rear"))) == 600 + len(["B-vehicle", "C-rear", "K", "Z-any", "É-both"])
    command.downgrade(migration_config(empty_url), "0005")
    migrate(empty_url)
    with closing(Database(empty_url)) as database, database.reading() as connection:
        assert skus(connection, AXLE) == sorted([*SUITING, "K"])


def _insert_as_before(connection, sku, revision, bodies):
    head = {"sku": sku, "revision": revision, "now": "2026-01-01T00:00:00Z"}
    connection.execute(text("INSERT INTO part VALUES (:sku, :revision, 'active', :now, 'strut', 'S', 'N')"), head)
    for number, body in bodies.items():
        row = {**head, "revision": number, "body": json.dumps(body)}
        connection.execute(text("INSERT INTO part_revision VALUES (:sku, :revision, :now, :body)"), row)
