"""Kits in files: with their parts in any order, all or nothing, and the same bytes out again."""

import pytest
from catalogue_files import SPACER, everything, faults_of, lines, spacers

from service.api.interchange import unload
from service.api.interchange.load import load
from service.api.interchange.naming import source_file
from service.catalogue.bulk import Tally
from service.catalogue.revisions import PARTS, current

KIT = {
    "sku": "INV-KIT-1",
    "name": "Kit",
    "supplier": "Invented",
    "kind": "kit",
    "parts": [{"sku": "INV-TOP-15", "quantity": 2}],
}
HEADER = "sku,name,supplier,parts\n"


def kits(*rows):
    return source_file("kit.csv", (HEADER + "".join(row + "\n" for row in rows)).encode())


def withdrawn(client, sku):
    assert client.delete(f"/v1/parts/{sku}", headers={"If-Match": "*"}).status_code == 204
    return client.app.state.service.database


def test_a_kit_may_stand_before_its_parts_and_in_another_file(database):
    row = 'INV-KIT-2,Kit,Invented,"[{""sku"":""INV-TOP-16""},{""sku"":""INV-TOP-15"",""quantity"":2}]"'
    loaded = load(database, [kits(row), lines(KIT, SPACER), spacers("INV-TOP-16,Spacer,Invented,16,")])
    assert loaded.tally == Tally(created=4)
    with database.reading() as connection:
        assert current(connection, PARTS, ("INV-KIT-1",)).body["parts"] == KIT["parts"]
        parts = current(connection, PARTS, ("INV-KIT-2",)).body["parts"]
    assert parts == [{"sku": "INV-TOP-16", "quantity": 1}, {"sku": "INV-TOP-15", "quantity": 2}]


def test_a_csv_file_comes_back_byte_for_byte(database):
    def exported():
        with database.snapshot() as connection:
            return unload.csv_file(connection, "kit")

    load(database, [lines(KIT, SPACER)])
    before = exported()
    assert b'"[{""quantity"":2,""sku"":""INV-TOP-15""}]"' in before
    assert load(database, [source_file("kit.csv", before)]).tally == Tally(unchanged=before.count(b"\n") - 1)
    assert exported() == before


def test_what_a_kit_cannot_hold_is_told_by_its_line_and_column(database):
    listed = [{"sku": "KES-KIT-T60"}, {"sku": "INV-KIT-1"}, {"sku": "INV-NONE"}, {"sku": "INV-TOP-15"}]
    told = faults_of(database, lines(SPACER, {**KIT, "parts": listed}))
    assert told == [
        ("all.jsonl", 2, "parts", "KES-KIT-T60 is a kit itself: name its parts."),
        ("all.jsonl", 2, "parts", "INV-KIT-1 is a kit itself: name its parts."),
        ("all.jsonl", 2, "parts", "The catalogue has no part INV-NONE."),
    ]


@pytest.mark.parametrize(
    ("cell", "detail"),
    [
        ("INV-TOP-15", 'must be JSON, such as [{"sku": "ABC-1", "quantity": 2}]'),
        ("[]", "must have 1 or more entries"),
        ('"[{""sku"":""KES-TOP-10""},{""sku"":""KES-TOP-10""}]"', "KES-TOP-10 is in this kit already"),
        ('"[{""sku"":""KES-TOP-10"",""quantity"":0}]"', "must be 1 or more"),
        ('"[{""part"":""KES-TOP-10""}]"', "is missing"),
    ],
)
def test_a_cell_that_lists_no_parts_is_told(database, cell, detail):
    told = faults_of(database, kits(f"INV-KIT-1,Kit,Invented,{cell}"))
    assert {each[:3] for each in told} == {("kit.csv", 2, "parts")}
    assert detail in told[0][3]


def test_a_kit_is_not_blamed_for_the_bad_row_of_its_part(database):
    ((_, line, column, _),) = faults_of(database, lines(KIT, {**SPACER, "thickness_mm": 0}))
    assert (line, column) == (2, "thickness_mm")
    ((_, line, column, _),) = faults_of(database, lines(KIT), spacers("INV-TOP-15,Spacer,Invented,thick,"))
    assert (line, column) == (2, "thickness_mm")


def test_a_new_kit_is_only_of_what_is_on_sale(client):
    database = withdrawn(client, "KES-TOP-10")
    ((*_, detail),) = faults_of(database, lines({**KIT, "parts": [{"sku": "KES-TOP-10"}]}))
    assert detail == "KES-TOP-10 has been withdrawn."
    changed = client.get("/v1/parts/KES-KIT-T60").json() | {"parts": [{"sku": "KES-TOP-10"}]}
    ((*_, detail),) = faults_of(database, lines(changed))
    assert detail == "KES-TOP-10 has been withdrawn."


def test_a_kit_with_a_withdrawn_part_is_left_as_it_is(client):
    database = withdrawn(client, "KES-TOP-20")
    assert load(database, [lines(client.get("/v1/parts/KES-KIT-T60").json())]).tally == Tally(unchanged=1)


def test_an_export_with_a_withdrawn_part_of_a_kit_can_be_brought_back(client, empty):
    database = withdrawn(client, "KES-TOP-20")
    exported = everything(database)
    load(empty, [source_file("all.jsonl", exported)])
    assert everything(empty) == exported


def test_over_http_a_file_of_kits_is_told_its_kind_beside_it(client):
    row = 'INV-KIT-3,Kit,Invented,"[{""sku"":""KES-TOP-10""}]"'
    headers = {"Content-Type": "text/csv"}
    content = (HEADER + row + "\n").encode()
    answer = client.request("POST", "/v1/imports?kind=kit", content=content, headers=headers)
    assert answer.status_code == 200, answer.text
    assert client.get("/v1/parts/INV-KIT-3").json()["parts"] == [{"sku": "KES-TOP-10", "quantity": 1}]
