"""``replay``: records come out the same once more, whatever the catalogue has become; else the difference is listed."""

import re
from dataclasses import replace

import orjson
import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from service.__main__ import main
from service.app import create_app
from service.engine import ENGINE_VERSION
from service.judging import judge
from service.judging.replay import replay
from service.ledger.kept import kept_record
from service.settings import Settings

TOP = "/v1/parts/KES-TOP-20"
REFERENCED = {
    "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
    "parts": [
        {"sku": "KES-TOP-20"},
        {"part": {"kind": "bump_stop_spacer", "thickness_mm": 12}},
        {"sku": "KES-SPR-4030"},
    ],
    "load": {
        "accessories": [{"sku": "SKA-BAR-38"}, {"name": "winch", "mass_kg": 40, "behind_front_axle_mm": -700}],
        "occupants_kg": 160,
    },
    "duty": "unsealed_touring",
    "target_lift_mm": {"value": 40, "plus_minus": 5},
}
SUMMARY = f"replayed by engine {re.escape(ENGINE_VERSION)}"


@pytest.fixture
def client(demo_url, new_client):
    return new_client(create_app(Settings(database_url=demo_url)))


@pytest.fixture
def command(demo_url, monkeypatch, capsys):
    """Runs a command on the database, and gives its exit status and what it said."""
    monkeypatch.setenv("COILGAP_DATABASE_URL", demo_url)

    def run(*arguments):
        capsys.readouterr()
        status = main(list(arguments))
        said = capsys.readouterr()
        return status, said.out + said.err

    return run


@pytest.fixture
def kept(client, inline_axle):
    """The ids of records of a catalogued axle, and of one that came with the request, measured on a named vehicle."""
    axle = {**inline_axle, "end": "front", "measured_on": "tarn-300-double-cab"}
    answers = [client.evaluate(**REFERENCED), client.evaluate(axle=axle, parts=[{"sku": "KES-TOP-20"}])]
    assert [answer.status_code for answer in answers] == [201, 201]
    return [answer.json()["id"] for answer in answers]


def change_everything(client):
    """Other revisions of axle, vehicle and part come into force, and a part is withdrawn."""
    for path, field in (
        (TOP, "thickness_mm"),
        ("/v1/vehicles/tarn-300-double-cab", "name"),
        ("/v1/vehicles/tarn-300-double-cab/axles/front", "unsprung_kg_per_wheel"),
    ):
        changed = client.get(path).json() | {field: "Another" if field == "name" else 40}
        assert client.put(path, changed, headers={"If-Match": "*"}).status_code == 200
    assert client.delete("/v1/parts/KES-SPR-4030", headers={"If-Match": "*"}).status_code == 204


def test_records_come_out_the_same_whatever_has_changed_since(client, command, kept):
    change_everything(client)
    for record_id in kept:
        status, said = command("replay", record_id)
        assert (status, bool(re.fullmatch(rf"coilgap: 1 {SUMMARY}: 1 the same, 0 not\.\n", said))) == (0, True)
    status, said = command("replay", "--since", "2000-01-01")
    assert status == 0
    assert re.fullmatch(rf"coilgap: 2 {SUMMARY}: 2 the same, 0 not\.\n", said)


def test_a_record_of_a_kit_comes_out_the_same_whatever_the_kit_has_become(client, command):
    kit, held = "/v1/parts/KES-KIT-T60", ("KES-SPR-4030", "KES-TOP-20")
    record = client.evaluate(**{**REFERENCED, "parts": [{"sku": "KES-KIT-T60"}]}).json()
    assert {"KES-KIT-T60", *held} < record["provenance"]["part_revisions"].keys()
    changed = client.get(kit).json() | {"parts": [{"sku": "KES-TOP-10"}]}
    assert client.put(kit, changed, headers={"If-Match": "*"}).status_code == 200
    change_everything(client)
    itself_a_kit = changed | {"sku": "KES-TOP-20"}
    assert client.put(TOP, itself_a_kit, headers={"If-Match": "*"}).status_code == 200
    assert client.delete(kit, headers={"If-Match": "*"}).status_code == 204
    status, said = command("replay", record["id"])
    assert (status, bool(re.fullmatch(rf"coilgap: 1 {SUMMARY}: 1 the same, 0 not\.\n", said))) == (0, True)


def test_since_is_a_day_or_a_time(command, kept):
    assert "2 replayed" in command("replay", "--since", "2000-01-01T00:00:00+02:00")[1]
    assert "0 replayed" in command("replay", "--since", "2999-01-01")[1]
    assert len(kept) == 2


@pytest.mark.parametrize(("since", "found"), [("0001-01-01T00:00:00+10:00", 2), ("9999-12-31T23:59:59-10:00", 0)])
def test_since_goes_from_one_end_of_the_calendar_to_the_other(command, kept, since, found):
    assert f"{found} replayed" in command("replay", "--since", since)[1]
    assert len(kept) == 2


def test_a_difference_is_listed_by_its_pointer(command, kept, monkeypatch):
    """As if the engine had changed without a new version: a margin in another place, and a check that is new."""
    evaluate = judge.evaluate

    class Other:
        def __init__(self, builds):
            self.verdicts = evaluate(builds)

        def __getattr__(self, name):
            return getattr(self.verdicts, name)

        def record(self, row):
            record = self.verdicts.record(row)
            first, *others = record["checks"]
            checks = [{**first, "margin": -99.5}, *others]
            return {**record, "checks": checks, "assumptions": [*record["assumptions"], "The moon is full."]}

    monkeypatch.setattr(judge, "evaluate", Other)
    status, said = command("replay", kept[0])
    assert status == 1
    first, *differences, summary = said.splitlines()
    assert first == f"{kept[0]} (recorded by engine {ENGINE_VERSION}):"
    assert re.fullmatch(r"  /checks/0/margin: was \S+, is -99\.5", differences[0])
    assert re.fullmatch(r'  /assumptions/\d+: was nothing, is "The moon is full\."', differences[1])
    assert len(differences) == 2
    assert summary.endswith("0 the same, 1 not.")


def test_another_engine_with_the_same_verdict_is_no_difference(command, kept, monkeypatch):
    monkeypatch.setattr("service.judging.judged.ENGINE_VERSION", "another")
    assert command("replay", "--since", "2000-01-01")[0] == 0
    assert len(kept) == 2


def test_what_cannot_be_judged_any_more_is_said(command, kept, monkeypatch):
    monkeypatch.setattr("service.judging.replay.POLICIES", {})
    status, said = command("replay", kept[0])
    assert status == 1
    assert f"  cannot be judged any more: engine {ENGINE_VERSION} has no policy standard" in said


def tamper(client, statement, **values):
    """As somebody who may do anything to the database: what protects its rows is out of force."""
    database = client.app.state.service.database
    with database.writing() as connection:
        if database.embedded:
            for name in (
                connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars().all()
            ):
                connection.execute(text(f"DROP TRIGGER {name}"))
        else:
            connection.execute(text("SET LOCAL session_replication_role = replica"))
        connection.execute(text(statement), values)


def test_an_altered_record_does_not_come_out_the_same(client, command, kept):
    change = "UPDATE evaluation SET request = replace(request, :was, :now)"
    tamper(client, change, was='"occupants_kg":160', now='"occupants_kg":90')
    status, said = command("replay", kept[0])
    assert status == 1
    assert "/provenance/request_sha256: was " in said


NOT_TEXT, BYTES = "CAST(x'ff7b' AS TEXT)", "x'00ff'"


@pytest.mark.parametrize(
    ("change", "cells"),
    [
        ("evaluation SET body = {} WHERE place = 1", [BYTES, NOT_TEXT, "'{}'", "'[]'"]),
        ("evaluation SET request = {} WHERE place = 1", [BYTES, NOT_TEXT, "'xx'", "'{}'", "'[]'"]),
        ("evaluation SET revisions = {} WHERE place = 1", [BYTES, NOT_TEXT, "''", "'{}'", "'[]'"]),
        ("evaluation SET id = {} WHERE place = 1", [BYTES, NOT_TEXT]),
        ("part_revision SET body = {} WHERE sku = 'KES-SPR-4030'", [BYTES, NOT_TEXT, "'x'", "'{}'", "'[]'"]),
        ("vehicle_revision SET body = {}", [BYTES, NOT_TEXT, "'x'", "'{}'", "'[]'"]),
        ("axle_revision SET body = {}", [BYTES, NOT_TEXT, "'x'", "'{}'", "'[]'"]),
    ],
)
def test_what_altered_rows_make_unreadable_is_listed_and_the_rest_replayed(client, command, kept, change, cells):
    if not client.app.state.service.database.embedded:  # it holds its columns to their types
        cells = [cell for cell in cells if cell not in (BYTES, NOT_TEXT)]
    tamper(client, "DELETE FROM evaluation_sku")  # its key would hold an id
    for cell in cells:
        tamper(client, f"UPDATE {change.format(cell)}")
        status, said = command("replay", "--since", "2000-01-01")
        listed, why, summary = said.splitlines()
        assert status == 1
        assert listed.startswith(kept[0]) or "SET id" in change
        assert listed.endswith(f" (recorded by engine {ENGINE_VERSION}):")
        assert "cannot be judged any more: it, or a catalogue revision that it rests on, was altered (" in why
        assert summary.endswith("1 the same, 1 not.")


def test_a_database_that_goes_away_meanwhile_alters_no_record(command, kept, monkeypatch):
    def away(*_):
        raise OperationalError("SELECT", {}, Exception("the server closed the connection\nin the middle"))

    monkeypatch.setattr("service.judging.replay.judge", away)
    assert command("replay", kept[0]) == (
        1,
        "coilgap: The database cannot be reached: the server closed the connection\n",
    )


def test_an_unknown_record_is_said_in_a_line(command):
    status, said = command("replay", "01999999-0000-7000-8000-000000000000")
    assert (status, said) == (1, "coilgap: There is no evaluation 01999999-0000-7000-8000-000000000000.\n")


@pytest.mark.parametrize("arguments", [(), ("x", "--since", "2026-01-01"), ("--since", "yesterday")])
def test_it_is_told_which_records(command, arguments):
    with pytest.raises(SystemExit) as ended:
        command("replay", *arguments)
    assert ended.value.code == 2


def test_a_record_from_before_there_were_remedies_is_replayed_without(client, kept):
    """As version 1 of the engine kept them: no remedies in the body."""
    service = client.app.state.service
    with service.database.reading() as connection:
        record = kept_record(connection, kept[0])
    assert record.body["remedies"]
    old = {name: value for name, value in record.body.items() if name != "remedies"}
    replayed = replay(service.references, replace(record, body_json=orjson.dumps(old)))
    assert (replayed.same, replayed.differences) == (True, ())
