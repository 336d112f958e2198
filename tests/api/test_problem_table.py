"""The error table: every row provoked through the real app, and the shape that all of them share."""

import hashlib
import re
from base64 import b64encode

import pytest
from fastapi import APIRouter
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.exceptions import HTTPException

from service.api.body import BodyTooLargeError, MalformedBodyError, MediaTypeError, ParameterError
from service.api.conditions import IfMatchMissingError
from service.api.hosts import HostMalformedError, HostUnknownError
from service.api.idempotency_key import IdempotencyKeyError, IdempotencyKeyReusedError
from service.api.interchange.rows import BadRowsError
from service.api.problems import ERROR_TABLE, KINDS, PreflightRefusedError, ServiceEndingError
from service.api.rate_limits import RateLimits, TooManyRequestsError
from service.api.scopes import KeyMissingError, KeyUnknownError, ScopeMissingError
from service.catalogue.revisions import AlreadyThereError, StaleRevisionError, UnknownError, WithdrawnError
from service.catalogue.upgrade import OutdatedDatabaseError
from service.engine.refusal import RefusedError
from service.judging.search_queue import SearchesBusyError
from service.keys.issuing import issue
from service.ledger.records import UnknownRecordError
from service.searches.kept import SearchInterruptedError, UnknownSearchError
from service.settings import Settings

TOP = "/v1/parts/KES-TOP-20"
SPACER = {"sku": "KES-TOP-20", "name": "N", "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 20}
AXLE = {"layout": "macpherson", "travel": {"stations": [{"at": "ride", "arch_to_hub_mm": 400, "seat_gap_mm": 250}]}}


def raising(error):
    """Lets every answer of the health check be an error: what no request can provoke at will."""

    def provoke(client, monkeypatch):
        def fail(*_):
            raise error

        monkeypatch.setattr("service.api.health.current_revision", fail)
        return client.get("/readyz")

    return provoke


def added_to_a_withdrawn_vehicle(client, _monkeypatch):
    client.post("/v1/vehicles", {"vehicle_id": "gone", "name": "Gone", "status": "withdrawn"})
    return client.put("/v1/vehicles/gone/axles/front", AXLE)


def another_media_type(client, _monkeypatch):
    return client.request("POST", "/v1/parts", content="kind: strut", headers={"Content-Type": "application/yaml"})


def a_bad_row(client, _monkeypatch):
    return client.request("POST", "/v1/imports?kind=tyre", content="sku\nINV-1\n", headers={"Content-Type": "text/csv"})


def without_a_key(client, _monkeypatch):
    client.app.state.admission.needs_keys = True
    return client.get(TOP)


def with_a_key_of_another_scope(client, _monkeypatch):
    with client.app.state.service.database.writing() as connection:
        key = issue(connection, "n", ["catalogue"])
    return client.get(TOP, headers={"Authorization": f"Bearer {key}"})


def under_another_name(client, _monkeypatch):
    client.app.state.admission.only_at_home = True
    answer = client.get(TOP)
    client.app.state.admission.only_at_home = False
    return answer


def too_often(client, _monkeypatch):
    client.app.state.admission.limits = RateLimits(Settings(rate_limit_without_key="1/hour"))
    return [client.get(TOP) for _ in range(2)][1]


def under_a_key_of_another_request(client, _monkeypatch):
    key = {"Idempotency-Key": '"once"'}
    client.post("/v1/vehicles", {"vehicle_id": "one", "name": "One"}, headers=key)
    return client.post("/v1/vehicles", {"vehicle_id": "two", "name": "Two"}, headers=key)


def where_others_wait(client, monkeypatch):
    monkeypatch.setattr("service.judging.search_queue.MOST_AT_ONCE", 0)
    tarn = {"vehicle": "tarn-300-double-cab", "end": "front"}
    return client.post("/v1/searches", {"axle": tarn, "kinds": ["strut"]})


PROVOKED = {
    (IdempotencyKeyReusedError, None): (422, under_a_key_of_another_request),
    (IdempotencyKeyError, None): (
        400,
        lambda client, _: client.post("/v1/parts", SPACER, headers={"Idempotency-Key": '"'}),
    ),
    (KeyMissingError, None): (401, without_a_key),
    (KeyUnknownError, None): (401, lambda client, _: client.get(TOP, headers={"Authorization": "Bearer false"})),
    (ScopeMissingError, None): (403, with_a_key_of_another_scope),
    (HostMalformedError, None): (400, lambda client, _: client.get(TOP, headers=[("Host", "a"), ("Host", "b")])),
    (HostUnknownError, None): (421, under_another_name),
    (TooManyRequestsError, None): (429, too_often),
    (RequestValidationError, None): (422, lambda client, _: client.post("/v1/evaluations", {})),
    (RefusedError, None): (422, lambda client, _: client.post("/v1/parts", {**SPACER, "thickness_mm": 0})),
    (ParameterError, None): (422, lambda client, _: client.get("/v1/parts?cursor=none")),
    (BadRowsError, None): (422, a_bad_row),
    (UnknownError, None): (404, lambda client, _: client.get("/v1/parts/no-such")),
    (UnknownRecordError, None): (
        404,
        lambda client, _: client.get("/v1/evaluations/01999999-0000-7000-8000-000000000000"),
    ),
    (UnknownSearchError, None): (
        404,
        lambda client, _: client.get("/v1/searches/01999999-0000-7000-8000-000000000000"),
    ),
    (ServiceEndingError, None): (503, raising(ServiceEndingError())),  # else a cancelled request is told so
    (SearchesBusyError, None): (503, where_others_wait),
    (SearchInterruptedError, None): (503, raising(SearchInterruptedError())),  # else it is told inside of a search
    (AlreadyThereError, None): (409, lambda client, _: client.post("/v1/parts", SPACER)),
    (WithdrawnError, None): (409, added_to_a_withdrawn_vehicle),
    (StaleRevisionError, None): (412, lambda client, _: client.delete(TOP, headers={"If-Match": '"9"'})),
    (IfMatchMissingError, None): (428, lambda client, _: client.put(TOP, SPACER)),
    (MalformedBodyError, None): (400, lambda client, _: client.send_text("{")),
    (BodyTooLargeError, None): (413, lambda client, _: client.send_text(" " * 1_048_577)),
    (MediaTypeError, None): (415, another_media_type),
    (OutdatedDatabaseError, None): (503, raising(OutdatedDatabaseError("0000", "0001"))),
    (OperationalError, None): (503, raising(OperationalError("SELECT", {}, Exception("server closed the connection")))),
    (InterfaceError, None): (503, raising(InterfaceError("SELECT", {}, Exception("connection already closed")))),
    (PoolTimeoutError, None): (503, raising(PoolTimeoutError("no connection is free"))),
    (PreflightRefusedError, None): (405, raising(PreflightRefusedError("Disallowed CORS origin", {}))),
    (HTTPException, 400): (400, raising(HTTPException(400, "There was an error parsing the body"))),
    (HTTPException, 404): (404, lambda client, _: client.get("/v1/wheels")),
    (HTTPException, 405): (405, lambda client, _: client.delete("/v1/parts")),
    (Exception, None): (500, raising(KeyError("a fault of ours, with a secret in it"))),
}


def test_every_row_of_the_table_is_provoked_here():
    assert set(PROVOKED) == {(exception, status) for exception, status, _ in ERROR_TABLE}


@pytest.mark.parametrize("row", PROVOKED, ids=lambda row: f"{row[0].__name__}-{row[1] or 'any'}")
def test_a_row_is_answered_in_the_one_shape(client, monkeypatch, row):
    status, provoke = PROVOKED[row]
    answer = provoke(client, monkeypatch)
    kind = next(kind for exception, narrowed, kind in ERROR_TABLE if (exception, narrowed) == row)
    problem = answer.json()
    assert answer.status_code == problem["status"] == kind.status == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-request-id"]
    assert problem["type"] == f"/problems/{kind.name}"
    assert problem["title"] == kind.title
    assert problem["instance"] == answer.request.url.path
    assert set(problem) - {"errors"} == {"type", "title", "status", "detail", "instance"}
    assert ("errors" in problem) == (status == 422)
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text
    assert ("retry-after" in answer.headers) == (status in (429, 503))
    assert ("www-authenticate" in answer.headers) == (status in (401, 403))
    page = client.get(problem["type"])
    assert (page.status_code, page.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert kind.title in page.text


def test_a_fault_of_the_service_is_logged_under_the_requests_id(client, monkeypatch, caplog):
    answer = PROVOKED[(Exception, None)][1](client, monkeypatch)
    (line,) = [record for record in caplog.records if record.name == "coilgap"]
    assert answer.headers["x-request-id"] in line.getMessage()
    assert line.exc_info[0] is KeyError


def test_a_database_that_is_away_is_logged_in_a_line(client, monkeypatch, caplog):
    PROVOKED[(OperationalError, None)][1](client, monkeypatch)
    (line,) = [record for record in caplog.records if record.name == "coilgap"]
    assert line.levelname == "WARNING"
    assert "GET /readyz" in line.getMessage()
    assert "server closed the connection" in line.getMessage()
    assert line.exc_info is None


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("DELETE", "/v1/parts", "GET, HEAD, POST"),
        ("PATCH", TOP, "DELETE, GET, HEAD, PUT"),
        ("DELETE", "/v1/vehicles/x/axles/front", "GET, HEAD, PUT"),
        ("POST", "/healthz", "GET, HEAD"),
        ("OPTIONS", "/v1/evaluations", "GET, HEAD, POST"),
        ("GET", "/v1/evaluations/batch", "POST"),
        ("DELETE", "/v1/evaluations/batch", "POST"),
        ("DELETE", "/v1/evaluations/01999999-0000-7000-8000-000000000000", "GET, HEAD"),
        ("POST", "/openapi.json", "GET, HEAD"),
    ],
)
def test_a_wrong_method_is_told_all_right_ones(shared_client, method, path, allowed):
    answer = shared_client.request(method, path)
    assert (answer.status_code, answer.headers["allow"]) == (405, allowed)


def test_no_fixed_address_is_taken_for_the_name_of_something(app):
    routes = app.state.routes
    for fixed in (route.path for route in routes if "{" not in route.path):
        assert {route.path for route in routes if route.path_regex.match(fixed)} == {fixed}


@pytest.mark.parametrize(
    "path",
    [
        "/v1",
        "/v1/parts/",
        "/v2/parts",
        "/problems/none",
        "/%F0%9F",
        "/v1/parts/%ED%A0%80",
        "/v1/parts%0A",
        "/docs%0A",
    ],
)
def test_an_unknown_address_is_told_so(shared_client, path):
    answer = shared_client.get(path)
    assert (answer.status_code, answer.json()["type"]) == (404, "/problems/not-found")


def test_a_records_address_ends_with_its_id(client):
    record = client.evaluate(axle={"vehicle": "tarn-300-double-cab", "end": "front"}).headers["location"]
    assert [client.get(record + end).status_code for end in ("", "%0A", "/", "0")] == [200, 404, 404, 404]


def test_no_page_loads_anything_from_elsewhere(shared_client):
    for path in ("/docs", *(f"/problems/{name}" for name in KINDS)):
        page = shared_client.get(path).text
        assert "<script" not in page
        assert "src=" not in page
        assert "http" not in page.replace("HTTP status", "")


def test_a_page_may_run_nothing_and_use_its_own_style_only(shared_client):
    page = shared_client.get("/docs")
    style = re.search("<style>(.*)</style>", page.text)[1]
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = page.headers["content-security-policy"]
    assert policy.startswith(f"default-src 'none'; style-src 'sha256-{digest}'; ")


def test_the_page_of_operations_lists_them_all(shared_client):
    page = shared_client.get("/docs").text
    for path in shared_client.get("/openapi.json").json()["paths"]:
        assert f"<code>{path}</code>" in page


def test_every_route_reads_its_body_by_our_rules(app):
    routes = [route for route in app.state.routes if isinstance(route, APIRoute) and route.body_field]
    assert len(routes) == 7
    assert {type(route).__name__ for route in routes} == {"JsonRoute"}
    assert APIRouter().route_class is not type(routes[0])
