"""CSV files of parts: what is written reads back the same, and what cannot be read is told by line and column."""

import csv
import json
from io import StringIO

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.api.interchange import cells
from service.api.interchange.columns import HALF_WIDTH, PART_MODELS, columns_of
from service.api.interchange.csv_rows import read_csv, write_csv
from service.api.interchange.rows import Row, SourceFile

NUMBERS = st.floats(-1e6, 1e6, allow_nan=False)
TEXTS = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=30)
VALUES = {
    id(cells.NUMBER_CELL): NUMBERS,
    id(cells.WHOLE_CELL): st.integers(-(10**14), 10**14),
    id(cells.BOOLEAN_CELL): st.booleans(),
    id(cells.TEXT_CELL): TEXTS,
    id(cells.NAMES_CELL): st.lists(st.from_regex(r"[a-z0-9._-]{1,9}(/(front|rear))?", fullmatch=True), min_size=1),
    id(cells.STRUCTURE_CELL): st.lists(st.lists(NUMBERS, min_size=2, max_size=2), min_size=1, max_size=5),
    id(cells.KIT_CELL): st.lists(st.fixed_dictionaries({"sku": TEXTS, "quantity": st.integers(1, 20)}), max_size=5),
}


@st.composite
def bodies(draw):
    """Any body that the columns of its kind can hold, whether or not such a part can be."""
    kind = draw(st.sampled_from(sorted(PART_MODELS)))
    body = {"kind": kind}
    for column in columns_of(kind):
        if column.name == "kind" or not draw(st.booleans()):
            continue
        if not column.half_width:
            body[column.field] = draw(VALUES[id(column.form)])
        elif column.field in body:
            body[column.field] = {"value": body[column.field], "plus_minus": draw(NUMBERS)}
    return body


def rows(text, kind=None):
    content = text if isinstance(text, bytes) else text.encode()
    return list(read_csv(SourceFile("parts.csv", "csv", content, kind)))


def only_faults(text, kind="strut_top_spacer"):
    (row,) = rows(text, kind)
    return [(fault.line, fault.column, fault.detail) for fault in (row.faults if isinstance(row, Row) else row)]


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # other work may have the processor
@given(bodies())
def test_what_is_written_reads_back_the_same(body):
    written = write_csv(body["kind"], [body])
    (row,) = rows(written)
    assert row.body == body
    assert write_csv(body["kind"], [row.body]) == written


@pytest.mark.parametrize("kind", PART_MODELS)
def test_every_kind_has_a_column_for_each_of_its_fields_and_for_each_half_width(kind):
    names = [column.name for column in columns_of(kind)]
    fields = {name for name, field in PART_MODELS[kind].model_fields.items() if not field.exclude}
    assert len(set(names)) == len(names)
    assert {column.field for column in columns_of(kind)} == fields
    measured = {name.removesuffix(HALF_WIDTH) for name in names if name.endswith(HALF_WIDTH)}
    schema = PART_MODELS[kind].model_json_schema()["properties"]
    single = {name for name in fields if '"array"' not in json.dumps(schema[name])}
    assert measured == {name for name in single if "#/$defs/Measured" in json.dumps(schema[name])}
    assert next(csv.reader(StringIO(write_csv(kind, []).decode()))) == names


@pytest.mark.parametrize(
    "text",
    [
        "sku,name,supplier,thickness_mm,thickness_mm_plus_minus\nA,N,S,20,0.5\n",
        "\ufeffsku,name,supplier,thickness_mm,thickness_mm_plus_minus\r\nA,N,S,20,0.5\r\n",
        "sku,name,supplier,thickness_mm,thickness_mm_plus_minus\rA,N,S,20,0.5",
        "\n\nthickness_mm_plus_minus, thickness_mm ,supplier,name,sku\n\n0.5, 20 ,S,N,A\n,,,,\n\n",
        'sku,name,supplier,thickness_mm,thickness_mm_plus_minus,status,fits\n"A",N,S,2e1,.5,,\n',
        "kind,sku,name,supplier,thickness_mm,thickness_mm_plus_minus\nstrut_top_spacer,A,N,S,20,0.5\n",
    ],
)
def test_spellings_of_one_file(text):
    (row,) = rows(text, "strut_top_spacer")
    assert row.body == {
        "kind": "strut_top_spacer", "sku": "A", "name": "N", "supplier": "S",
        "thickness_mm": {"value": 20.0, "plus_minus": 0.5},
    }  # fmt: skip


def test_lines_are_counted_as_an_editor_counts_them():
    text = 'sku,name\n\nA,"one\nname\nover lines"\nB,two\n'
    assert [row.line for row in rows(text, "tyre")] == [3, 6]


def test_parts_of_several_kinds_may_stand_in_one_file():
    text = "kind,sku,thickness_mm,mass_kg\nspring_spacer,A,10,\naccessory,B,,96\naccessory,C,10,96\n"
    spacer, accessory, wrong = rows(text)
    assert (spacer.body["thickness_mm"], accessory.body["mass_kg"], wrong.body["mass_kg"]) == (10.0, 96.0, 96.0)
    (fault,) = wrong.faults
    assert (fault.line, fault.column) == (4, "thickness_mm")
    assert fault.detail == "must be empty: it is no column of accessory"


@pytest.mark.parametrize(
    ("cell", "detail"),
    [
        ("twenty", "must be a number, not 'twenty'"),
        ('"20,5"', "must be a number written with a decimal point, not '20,5'"),
        ("nan", "must be a number, not 'nan'"),
        ("inf", "must be a number, not 'inf'"),
        ("1_0", "must be a number, not '1_0'"),
        ("٢٠", "must be a number, not '٢٠'"),
        ("20 mm", "must be a number, not '20 mm'"),
    ],
)
def test_a_number_that_is_none_is_told(cell, detail):
    assert only_faults(f"sku,thickness_mm\nA,{cell}\n") == [(2, "thickness_mm", detail)]


def test_every_bad_cell_of_a_row_is_told():
    text = "sku,wire_mm,wire_mm_plus_minus,rate_n_per_mm,force_table\nA,thick,0.1,stiff,soft\n"
    assert [column for _, column, _ in only_faults(text, "coil_spring")] == ["wire_mm", "rate_n_per_mm", "force_table"]


def test_a_half_width_needs_its_reading():
    text = "sku,thickness_mm,thickness_mm_plus_minus\nA,,0.1\n"
    assert only_faults(text) == [
        (2, "thickness_mm_plus_minus", "is the half-width of thickness_mm, which is empty"),
    ]


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ("", 1, None, "The file is empty"),
        ("sku,thickness\nA,1\n", 1, "thickness", "is no column of strut_top_spacer: check how it is spelt."),
        ("sku,thickness_in\nA,1\n", 1, "thickness_in", "is no column of strut_top_spacer"),
        ("sku;thickness_mm\nA;1\n", 1, "sku;thickness_mm", "Columns are separated by commas."),
        ("sku,sku\nA,B\n", 1, "sku", "stands twice in the header"),
        ("sku,thickness_mm\nA\n", 2, None, "has 1 cells, but the header names 2 columns"),
        ("sku,thickness_mm\nA,1,2\n", 2, None, "has 3 cells, but the header names 2 columns"),
        ('sku,thickness_mm\n"A"B,1\n', 2, None, "Reading stopped here, this is no CSV"),
        ('sku,thickness_mm\n"A,1\n', 2, None, "Reading stopped here, this is no CSV"),
        ("kind,sku\nwheel,A\n", 2, "kind", "is no kind of part. Kinds: coil_spring, "),
    ],
)
def test_a_file_that_is_no_table_of_parts_is_told(text, line, column, said):
    ((found_line, found_column, detail),) = only_faults(text)
    assert (found_line, found_column) == (line, column)
    assert said in detail


def test_a_file_must_be_in_utf_8():
    (faults,) = rows("sku,name\nA,ok\nB,Sållow\n".encode("latin-1"), "tyre")
    assert [(fault.line, fault.column) for fault in faults] == [(3, None)]
    assert "UTF-8" in faults[0].detail


def test_without_a_kind_nothing_can_be_read():
    (faults,) = rows("sku,name\nA,N\n")
    assert "Say of which kind the parts are" in faults[0].detail


def test_rows_after_a_bad_one_are_read():
    good, bad, last = rows("sku,thickness_mm\nA,1\nB,x\nC,3\n", "spring_spacer")
    assert [(each.body["sku"], len(each.faults)) for each in (good, bad, last)] == [("A", 0), ("B", 1), ("C", 0)]
    assert "thickness_mm" not in bad.body


def test_a_half_width_is_not_blamed_for_a_reading_that_cannot_be_read():
    text = "sku,thickness_mm,thickness_mm_plus_minus\nA,x,0.1\n"
    assert [column for _, column, _ in only_faults(text)] == ["thickness_mm"]
