"""Logs: one JSON object a line, and never a key or a body in any of them."""

import json
import logging
import sys
from dataclasses import replace

import pytest
from sqlalchemy import text

from service.app import create_app
from service.keys.issuing import issue
from service.logs import JsonLines

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [{"sku": "KES-TOP-20"}]}
MARK = "told-to-nobody"


@pytest.fixture
def logged(settings, new_client, caplog):
    caplog.set_level("DEBUG")
    return new_client(create_app(replace(settings, access_log=True)))


def lines(caplog, name="coilgap.access"):
    return [json.loads(JsonLines().format(record)) for record in caplog.records if record.name == name]


def test_a_request_is_one_line(logged, caplog):
    answer = logged.get("/v1/parts/KES-TOP-20", headers={"X-Request-Id": "till-7.1"})
    (line,) = lines(caplog)
    assert 0 < line.pop("duration_ms") < 10_000
    assert line.pop("time").endswith("Z")
    assert line == {
        "level": "info",
        "logger": "coilgap.access",
        "message": "request",
        "request_id": answer.headers["x-request-id"],
        "method": "GET",
        "route": "/v1/parts/{sku}",
        "status": 200,
        "caller": "",
    }


@pytest.mark.parametrize(
    ("path", "logged_as"),
    [
        ("HEAD /v1/parts", ("HEAD", "/v1/parts", 200)),
        ("GET /v1/wheels", ("GET", "none", 404)),
        ("DELETE /v1/parts", ("DELETE", "/v1/parts", 405)),
        ("POST /v1/evaluations", ("POST", "/v1/evaluations", 415)),
    ],
)
def test_the_route_stands_for_every_address_below_it(logged, caplog, path, logged_as):
    logged.request(*path.split())
    (line,) = lines(caplog)
    assert (line["method"], line["route"], line["status"]) == logged_as


def test_by_default_requests_are_not_logged(client, caplog):
    caplog.set_level("DEBUG")
    client.get("/healthz")
    assert lines(caplog) == []


def test_no_key_and_no_body_reaches_a_log(logged, caplog, monkeypatch):
    with logged.app.state.service.database.writing() as connection:
        key = issue(connection, "n", ["evaluate", "catalogue"])
    secret = {"Authorization": f"Bearer {key}"}
    marked = {**QUESTION, "load": {"accessories": [{"name": MARK, "mass_kg": 1, "behind_front_axle_mm": 0}]}}
    part = {"sku": "INV-1", "name": MARK, "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 1}
    logged.post("/v1/evaluations", marked, headers={**secret, "Idempotency-Key": MARK})
    logged.post("/v1/evaluations", {**marked, "duty": MARK}, headers=secret)
    logged.post("/v1/parts", part, headers=secret)
    logged.get("/v1/parts", headers={"Authorization": f"Bearer {key[:-1]}"})
    monkeypatch.setattr("service.catalogue.revisions._add_revision", lambda connection, *_: broken(connection))
    logged.post("/v1/parts", {**part, "sku": "INV-2"}, headers=secret)
    told = "\n".join(json.dumps(line) for name in ("coilgap", "coilgap.access") for line in lines(caplog, name))
    assert len(lines(caplog)) == 5
    assert "exception" in lines(caplog, "coilgap")[0]
    assert MARK not in told
    secret_of_key = key.split("_", 2)[2]  # it may have underscores itself
    assert secret_of_key not in told
    assert secret_of_key[:-1] not in told


def broken(connection):
    """A statement that fails, with what must not be told among its parameters."""
    connection.execute(text("INSERT INTO part (sku, name) VALUES (NULL, :name)"), {"name": MARK})


def test_a_failure_is_told_with_its_trace_in_one_line():
    try:
        {}["a fault"]
    except KeyError:
        trace = sys.exc_info()
    record = logging.LogRecord("x", logging.ERROR, "f", 1, "request %s failed", ("r-1",), trace)
    told = JsonLines().format(record)
    assert "\n" not in told
    line = json.loads(told)
    assert (line["level"], line["message"]) == ("error", "request r-1 failed")
    assert "KeyError" in line["exception"]
