"""The client against the service itself, behind a real socket."""

import re
import threading

import pytest
from real_server import serving

from service.app import create_app
from service.client import CoilgapError, ProblemError, UnreachableError, searching
from service.client.patience import Patience
from service.client.problems import (
    ConflictError,
    KeyNeededError,
    NotFoundError,
    NotValidError,
    ScopeMissingError,
    ServerFaultError,
    StaleRevisionError,
)
from service.database import Database
from service.engine.search import search
from service.keys.issuing import issue
from service.settings import Settings

AXLE = {"vehicle": "tarn-300-double-cab", "end": "front"}
LIFT = {"axle": AXLE, "parts": [{"sku": "KES-SPR-4030"}, {"sku": "KES-TOP-20"}]}
SPACER = {"sku": "INV-15", "name": "Spacer", "supplier": "Invented", "kind": "strut_top_spacer", "thickness_mm": 15}
SPACERS = b"sku,name,supplier,thickness_mm\nINV-1,N,S,10\nINV-2,N,S,20\n"


@pytest.fixture
def address(app):
    with serving(app) as address:
        yield address


@pytest.fixture
def service(address, new_connection):
    return new_connection(address)


def test_evaluate_and_read_again(service):
    record = service.evaluate(LIFT)
    assert (record["verdict"], record["action"]) == ("unsafe", "stop")
    assert service.evaluation(record["id"]) == record
    (listed,) = service.evaluations(vehicle=AXLE["vehicle"], verdict="unsafe")
    assert listed["id"] == record["id"]
    assert list(service.evaluations(verdict="clear")) == []


def test_a_batch_gives_a_verdict_or_a_problem_for_each(service):
    unknown = {"axle": AXLE, "parts": [{"sku": "NO-SUCH"}]}
    first, second, third = service.evaluate_batch([LIFT, unknown, {"axle": AXLE, "record": False}])
    assert first["verdict"] == "unsafe"
    assert isinstance(second, NotValidError)
    assert second.faults[0].pointer.endswith("/parts/0/sku")
    assert third["id"] is None


def test_parts_are_added_changed_and_withdrawn(service):
    added = service.parts.add(SPACER)
    assert (added.etag, added.body["revision"]) == ('"1"', 1)
    changed = service.parts.change("INV-15", {**added.body, "thickness_mm": 14}, added.etag)
    assert changed.body["thickness_mm"] == 14
    with pytest.raises(StaleRevisionError) as caught:
        service.parts.change("INV-15", SPACER, added.etag)
    assert caught.value.status == 412
    service.parts.withdraw("INV-15", changed.etag)
    assert service.parts.read("INV-15").body["status"] == "withdrawn"
    assert [body["revision"] for body in service.parts.revisions("INV-15")] == [3, 2, 1]
    assert service.parts.revision("INV-15", 1).body["thickness_mm"] == 15
    with pytest.raises(ConflictError):
        service.parts.add(SPACER)


def test_a_kit_is_a_part_like_any_other(service):
    held = [{"sku": "KES-SPR-4030", "quantity": 1}, {"sku": "KES-TOP-20", "quantity": 1}]
    added = service.parts.add({"sku": "INV-KIT", "name": "Kit", "supplier": "S", "kind": "kit", "parts": held})
    assert added.body["parts"] == held
    assert "INV-KIT" in [part["sku"] for part in service.parts.every(kind="kit")]
    kit = service.evaluate({"axle": AXLE, "parts": [{"sku": "INV-KIT"}], "record": False})
    assert (kit["verdict"], kit["lift_mm"]) == ("unsafe", service.evaluate(LIFT)["lift_mm"])
    service.parts.withdraw("INV-KIT", added.etag)
    with pytest.raises(NotValidError) as caught:
        service.evaluate({"axle": AXLE, "parts": [{"sku": "INV-KIT"}]})
    assert caught.value.faults[0].pointer == "/parts/0/sku"


def test_vehicles_and_axles(service):
    vehicle = service.vehicles.add({"vehicle_id": "sallow-2", "name": "Sallow 2"})
    service.vehicles.change("sallow-2", {**vehicle.body, "years": "2011 to 2019"}, vehicle.etag)
    envelope = {
        "layout": "macpherson",
        "travel": {"stations": [{"at": "ride", "arch_to_hub_mm": 400, "seat_gap_mm": 250}]},
    }
    axle = service.axles.put("sallow-2", "front", envelope)
    assert service.axles.put("sallow-2", "front", axle.body, axle.etag).etag == '"2"'
    assert service.axles.read("sallow-2", "front").body["layout"] == "macpherson"
    assert len(list(service.axles.revisions("sallow-2", "front"))) == 2
    assert service.axles.revision("sallow-2", "front", 1).etag == '"1"'


def test_a_listing_is_read_to_its_end(service):
    every = [part["sku"] for part in service.parts.every(limit="7")]
    assert every == sorted(every)
    assert len(every) == len(list(service.parts.every())) > 21
    assert {part["kind"] for part in service.parts.every(kind="bump_stop")} == {"bump_stop"}


SEARCH = {
    "axle": AXLE,
    "duty": "unsealed_touring",
    "kinds": [
        "coil_spring",
        "strut",
        "strut_top_spacer",
        "spring_spacer",
        "bump_stop_spacer",
        "upper_arm",
        "bump_stop",
    ],
}


def test_a_search_is_waited_for_and_read_to_its_end(service, monkeypatch):
    monkeypatch.setattr(searching, "PAGE", 30)
    found = service.search({**SEARCH, "near_misses": 3})
    assert [item["rank"] for item in found["items"]] == list(range(1, found["counts"]["clear"] + 1))
    assert len(found["items"]) > 60
    assert (found["status"], found["next"], len(found["near_misses"])) == ("done", None, 3)
    assert service.evaluate(found["items"][-1]["question"])["action"] == "sell"


def test_a_search_that_takes_long_is_asked_for_again(service, monkeypatch):
    monkeypatch.setattr(searching, "WAIT_S", 0)
    monkeypatch.setattr(searching, "ASK_AGAIN_S", 0.01)
    opened, asked, read = threading.Event(), [], searching.read

    def slow(wanted, tell):
        opened.wait(30)
        return search(wanted, tell)

    def ask_again(*arguments):
        asked.append(arguments)
        if len(asked) == 3:
            opened.set()
        return read(*arguments)

    monkeypatch.setattr("service.judging.search_queue.search", slow)
    monkeypatch.setattr(searching, "read", ask_again)
    assert service.search(SEARCH)["items"]
    assert len(asked) >= 3


def test_a_search_that_fails_is_its_problem(service, monkeypatch):
    monkeypatch.setattr("service.judging.search_queue.search", lambda *_: 1 / 0)
    with pytest.raises(ServerFaultError):
        service.search(SEARCH)
    with pytest.raises(NotValidError, match="names strut twice"):
        service.search({**SEARCH, "kinds": ["strut", "strut"]})


def test_files_go_in_and_out(service):
    dry = service.import_file(SPACERS.replace(b"20", b"x"), "csv", "strut_top_spacer", dry_run=True)
    assert [(fault["line"], fault["column"]) for fault in dry["errors"]] == [(3, "thickness_mm")]
    with pytest.raises(NotValidError) as caught:
        service.import_file(SPACERS.replace(b"20", b"x"), "csv", "strut_top_spacer")
    assert (caught.value.faults[0].line, caught.value.faults[0].column) == (3, "thickness_mm")
    assert service.import_file(SPACERS, "csv", "strut_top_spacer")["created"] == 2
    assert b"INV-2,strut_top_spacer" in service.export_file("csv", "strut_top_spacer")
    whole = service.export_file("jsonl")
    assert service.import_file(whole, "jsonl")["unchanged"] == whole.count(b"\n")


def test_what_is_not_there_and_what_cannot_be(service):
    with pytest.raises(NotFoundError) as caught:
        service.parts.read("no such/../thing")
    assert caught.value.status == 404
    assert re.fullmatch(r"[0-9a-f-]{36}", caught.value.request_id)
    with pytest.raises(NotValidError) as caught:
        service.evaluate({"axle": AXLE, "duty": "racing"})
    assert [fault.pointer for fault in caught.value.faults] == ["/duty"]
    assert "/duty" in str(caught.value)
    assert isinstance(caught.value, ProblemError)
    assert isinstance(caught.value, CoilgapError)


def test_a_key_travels_with_every_request(settings, new_connection):
    locked = Settings(database_url=settings.database_url, keys="required")
    database = Database(settings.database_url)
    with database.writing() as connection:
        key = issue(connection, "shop", ["evaluate"])
    database.close()
    with serving(create_app(locked)) as address:
        allowed = new_connection(address, key)
        assert allowed.evaluate(LIFT)["verdict"] == "unsafe"
        with pytest.raises(ScopeMissingError):
            allowed.parts.add(SPACER)
        for wrong in (None, key[:-3] + "AAA"):
            with pytest.raises(KeyNeededError):
                new_connection(address, wrong).evaluate(LIFT)


def test_nobody_there(new_connection):
    impatient = Patience(attempts=2, first_wait_s=0.001)
    with pytest.raises(UnreachableError, match="POST /v1/evaluations: no answer"):
        new_connection("http://127.0.0.1:9", patience=impatient).evaluate(LIFT)
