"""Importing and exporting over HTTP."""

import json

import pytest

from service.api.scopes import needed_scope
from service.app import create_app
from service.keys.issuing import CATALOGUE, EVALUATE
from service.settings import Settings

SPACERS = "sku,name,supplier,thickness_mm,thickness_mm_plus_minus\nINV-10,Spacer,Invented,10,0.1\n"
SPACER = {"sku": "INV-20", "name": "Spacer", "supplier": "Invented", "kind": "strut_top_spacer", "thickness_mm": 20}
VEHICLE = {"vehicle_id": "sallow-2", "name": "Sallow 2"}
CSV, LINES, BYTES = "text/csv", "application/jsonl", "application/octet-stream"


def send(client, content, media_type=CSV, query="kind=strut_top_spacer", **headers):
    content = content if isinstance(content, bytes) else content.encode()
    headers = {"Content-Type": media_type, **{name.replace("_", "-"): value for name, value in headers.items()}}
    return client.request("POST", f"/v1/imports?{query}", content=content, headers=headers)


def json_lines(*bodies):
    return "".join(json.dumps(body) + "\n" for body in bodies)


def is_there(client, sku):
    return client.get(f"/v1/parts/{sku}").status_code == 200


def test_a_csv_file_is_brought_in(client):
    answer = send(client, SPACERS)
    assert answer.status_code == 200
    assert answer.json() == {
        "dry_run": False, "imported": True, "rows": 1, "created": 1, "revised": 0, "unchanged": 0, "errors": [],
    }  # fmt: skip
    assert client.get("/v1/parts/INV-10").json()["thickness_mm"] == {"value": 10.0, "plus_minus": 0.1}
    assert send(client, SPACERS).json()["unchanged"] == 1


def test_json_lines_bring_in_vehicles_and_parts(client):
    answer = send(client, json_lines(SPACER, VEHICLE), LINES, query="")
    assert (answer.status_code, answer.json()["created"]) == (200, 2)
    assert client.get("/v1/vehicles/sallow-2").status_code == 200
    assert is_there(client, "INV-20")


@pytest.mark.parametrize(
    ("media_type", "query"),
    [
        (CSV, "kind=strut_top_spacer"),
        ("text/csv; charset=UTF-8; header=present", "kind=strut_top_spacer"),
        (BYTES, "format=csv&kind=strut_top_spacer"),
        (CSV, "format=csv&kind=strut_top_spacer"),
    ],
)
def test_the_form_is_said_by_media_type_or_query(client, media_type, query):
    assert send(client, SPACERS, media_type, query).status_code == 200
    assert is_there(client, "INV-10")


def test_a_dry_run_reports_every_bad_row_and_imports_nothing(client):
    rows = "".join(f"INV-{number},Spacer,Invented,{'x' if number % 2 else 5},\n" for number in range(300))
    answer = send(client, SPACERS + rows, query="kind=strut_top_spacer&dry_run=true")
    report = answer.json()
    assert answer.status_code == 200
    assert (report["dry_run"], report["imported"], report["rows"], report["created"]) == (True, False, 301, 0)
    assert [fault["line"] for fault in report["errors"] if fault["column"] == "thickness_mm"] == [*range(4, 303, 2)]
    assert not is_there(client, "INV-0")


def test_a_dry_run_without_a_fault_says_what_would_be_done(client):
    report = send(client, SPACERS, query="kind=strut_top_spacer&dry_run=true").json()
    assert (report["imported"], report["created"], report["errors"]) == (False, 1, [])
    assert not is_there(client, "INV-10")


def test_one_bad_row_keeps_all_the_others_out(client):
    answer = send(client, SPACERS + "INV-11,Spacer,Invented,0,\nINV-12,Spacer,,7,\n")
    problem = answer.json()
    assert (answer.status_code, problem["type"]) == (422, "/problems/not-valid")
    assert [(fault["line"], fault["column"]) for fault in problem["errors"]] == [(3, "thickness_mm"), (4, "supplier")]
    assert problem["detail"].startswith("body:3: thickness_mm: 0 is no thickness of a spacer")
    assert not is_there(client, "INV-10")


def test_every_fault_of_an_import_is_told_not_only_the_first_hundred(client):
    rows = "".join(f"BAD-{number},Spacer,Invented,x,\n" for number in range(150))
    assert len(send(client, SPACERS + rows).json()["errors"]) == 150


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("kind=wheel", "kind"),
        ("format=xlsx", "format"),
        ("dryrun=true", "dryrun"),
        ("dry_run=maybe", "dry_run"),
        ("kind=strut_top_spacer&dry_run=true&dry_run=false", "dry_run"),
    ],
)
def test_a_misspelt_query_imports_nothing(client, query, parameter):
    answer = send(client, SPACERS, query=query)
    assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (422, parameter)
    assert not is_there(client, "INV-10")


def test_a_packed_file_is_refused(client):
    answer = send(client, SPACERS, Content_Encoding="gzip")
    assert (answer.status_code, "without Content-Encoding" in answer.json()["detail"]) == (415, True)
    assert send(client, SPACERS, Content_Encoding="identity").status_code == 200


@pytest.mark.parametrize(
    ("content", "media_type", "query", "status"),
    [
        (SPACERS, "application/json", "", 415),
        (SPACERS, "text/plain", "format=csv", 415),
        (SPACERS, "text/csv; charset=latin-1", "", 415),
        (SPACERS, BYTES, "", 415),
        ("", CSV, "", 422),
        ("", LINES, "", 422),
        ("--x--", "multipart/form-data; boundary=x", "", 422),
        ("nonsense", "multipart/form-data; boundary=x", "", 400),
        ("nonsense", "multipart/form-data", "", 400),
        (SPACERS, CSV, "", 422),
    ],
)
def test_what_is_no_file_is_refused(client, content, media_type, query, status):
    answer = send(client, content, media_type, query)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert not is_there(client, "INV-10")


class TestForms:
    def test_several_files_are_brought_in_together(self, client):
        files = [
            ("a", ("strut_top_spacer.csv", SPACERS, CSV)),
            ("b", ("anything", json_lines(VEHICLE), LINES)),
            ("c", ("more.jsonl", json_lines(SPACER), BYTES)),
        ]
        answer = client.request("POST", "/v1/imports", files=files)
        assert (answer.status_code, answer.json()["created"]) == (200, 3)

    def test_a_fault_names_its_file(self, client):
        files = [("a", ("tyre.csv", "sku\n", CSV)), ("b", ("strut_top_spacer.csv", "sku\nX\n", CSV))]
        answer = client.request("POST", "/v1/imports", files=files)
        assert answer.status_code == 422
        assert {(fault["file"], fault["line"]) for fault in answer.json()["errors"]} == {("strut_top_spacer.csv", 2)}

    @pytest.mark.parametrize("arguments", [{"files": [("a", ("notes.txt", "x"))]}, {"files": {"a": (None, "x")}}])
    def test_what_is_no_file_of_ours_is_refused(self, client, arguments):
        answer = client.request("POST", "/v1/imports", **arguments)
        assert (answer.status_code, answer.json()["type"]) == (422, "/problems/not-valid")

    def test_a_page_of_another_origin_cannot_send_one(self, client):
        files = [("a", ("strut_top_spacer.csv", SPACERS, CSV))]
        for origin, status in (("https://elsewhere.example", 415), ("null", 415), ("http://service.test", 200)):
            answer = client.request("POST", "/v1/imports", files=files, headers={"Origin": origin})
            assert answer.status_code == status


def test_the_same_idempotency_key_imports_once(client):
    first = send(client, SPACERS, Idempotency_Key='"once"')
    again = send(client, SPACERS, Idempotency_Key='"once"')
    assert first.json()["created"] == 1
    assert (again.status_code, again.content) == (200, first.content)
    other = send(client, SPACERS.replace("10,0.1", "11,0.1"), Idempotency_Key='"once"')
    assert (other.status_code, other.json()["type"]) == (422, "/problems/idempotency-key-reused")
    assert client.get("/v1/parts/INV-10").json()["revision"] == 1


def test_an_import_may_be_larger_than_another_body_and_has_its_own_limit(settings, new_client):
    small = Settings(database_url=settings.database_url, max_body_bytes=1024, max_import_bytes=4096)
    client = new_client(create_app(small))
    assert send(client, SPACERS + "\n" * 2000).status_code == 200
    assert send(client, SPACERS + "\n" * 5000).status_code == 413
    assert client.send_text(" " * 1025).status_code == 413


def test_importing_needs_the_scope_that_changing_needs():
    assert needed_scope("POST", "/v1/imports") == CATALOGUE
    assert needed_scope("GET", "/v1/exports") == EVALUATE


class TestExport:
    def test_csv_comes_out_as_it_can_go_in(self, client):
        send(client, SPACERS)
        answer = client.get("/v1/exports?format=csv&kind=strut_top_spacer")
        assert answer.headers["content-type"] == "text/csv; charset=utf-8"
        assert answer.headers["content-disposition"] == 'attachment; filename="strut_top_spacer.csv"'
        assert "INV-10,strut_top_spacer,Spacer,Invented,active,,10,0.1" in answer.text.splitlines()
        again = send(client, answer.content, query="")
        assert again.json()["unchanged"] == again.json()["rows"] >= 2
        assert client.get("/v1/exports?format=csv&kind=strut_top_spacer").content == answer.content

    def test_json_lines_hold_everything(self, client):
        answer = client.get("/v1/exports")
        assert answer.headers["content-type"] == "application/jsonl"
        report = send(client, answer.content, LINES, query="").json()
        assert (report["unchanged"], report["created"], report["revised"]) == (answer.content.count(b"\n"), 0, 0)

    def test_json_lines_of_one_kind(self, client):
        kinds = {json.loads(line)["kind"] for line in client.get("/v1/exports?kind=bump_stop").text.splitlines()}
        assert kinds == {"bump_stop"}

    @pytest.mark.parametrize(
        ("query", "parameter"),
        [
            ("format=csv", "kind"),
            ("format=pdf", "format"),
            ("king=strut", "king"),
            ("format=csv&kind=strut&kind=tyre", "kind"),
        ],
    )
    def test_a_query_that_cannot_be(self, client, query, parameter):
        answer = client.get(f"/v1/exports?{query}")
        assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (422, parameter)
