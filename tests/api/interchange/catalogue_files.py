"""Files to import, and what is told where one of them is not right."""

import json

import pytest

from service.api.interchange import unload
from service.api.interchange.load import load
from service.api.interchange.naming import source_file
from service.api.interchange.rows import BadRowsError
from service.catalogue.bulk import Tally

VEHICLE = {"vehicle_id": "sallow-2", "name": "Sallow 2", "vehicle_masses": {"wheelbase_mm": 2600, "front_axle_kg": 800}}
AXLE = {
    "vehicle": "sallow-2", "end": "front", "layout": "macpherson",
    "travel": {"stations": [{"at": "ride", "arch_to_hub_mm": 400, "seat_gap_mm": 250}]},
    "unsprung_kg_per_wheel": 40,
}  # fmt: skip
SPACER = {"sku": "INV-TOP-15", "name": "Spacer", "supplier": "Invented", "kind": "strut_top_spacer", "thickness_mm": 15}
SPACERS = "sku,name,supplier,thickness_mm,thickness_mm_plus_minus\n"


def lines(*bodies, name="all.jsonl"):
    return source_file(name, b"".join(json.dumps(body).encode() + b"\n" for body in bodies))


def spacers(*rows, name="strut_top_spacer.csv"):
    return source_file(name, (SPACERS + "".join(row + "\n" for row in rows)).encode())


def everything(database):
    with database.snapshot() as connection:
        return unload.json_lines(connection)


def faults_of(database, *files):
    before = everything(database)
    dry = load(database, files, dry_run=True)
    with pytest.raises(BadRowsError) as caught:
        load(database, files)
    assert everything(database) == before
    assert dry.faults == tuple(caught.value.faults)
    assert dry.tally == Tally()
    return [(fault.file, fault.line, fault.column, fault.detail) for fault in dry.faults]
