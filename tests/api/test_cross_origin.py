"""Pages of other origins: shut out unless named; named ones may send a key and read what they need."""

from dataclasses import replace

import pytest

from service.app import create_app

SHOP = "https://shop.example"
PREFLIGHT = {
    "Origin": SHOP,
    "Access-Control-Request-Method": "POST",
    "Access-Control-Request-Headers": "authorization, content-type, idempotency-key",
}


@pytest.fixture
def sharing(settings, new_client):
    return new_client(create_app(replace(settings, cors_origins=(SHOP,))))


def test_by_default_no_other_origin_is_answered(client):
    assert "access-control-allow-origin" not in client.get("/v1/parts", headers={"Origin": SHOP}).headers
    assert client.request("OPTIONS", "/v1/evaluations", headers=PREFLIGHT).status_code == 405


def test_a_named_origin_may_ask_first_and_then_send(sharing):
    allowed = sharing.request("OPTIONS", "/v1/evaluations", headers=PREFLIGHT)
    assert allowed.status_code == 200
    assert allowed.headers["access-control-allow-origin"] == SHOP
    assert "Authorization" in allowed.headers["access-control-allow-headers"]
    assert allowed.headers["x-request-id"]
    answer = sharing.get("/v1/parts/KES-TOP-20", headers={"Origin": SHOP})
    assert answer.headers["access-control-allow-origin"] == SHOP
    assert {"ETag", "Location", "Retry-After"} <= set(answer.headers["access-control-expose-headers"].split(", "))
    assert "access-control-allow-credentials" not in answer.headers


@pytest.mark.parametrize(
    ("method", "path", "sent", "status"),
    [
        ("GET", "/v1/wheels", {}, 404),
        ("GET", "/v1/parts", {"Authorization": "Bearer false"}, 401),
        ("POST", "/v1/evaluations", {"Content-Length": "2000000"}, 413),
    ],
)
def test_a_refusal_can_be_read_too(sharing, method, path, sent, status):
    answer = sharing.request(method, path, headers={"Origin": SHOP, **sent})
    assert (answer.status_code, answer.headers["access-control-allow-origin"]) == (status, SHOP)


def test_a_failure_of_ours_can_be_read_too(sharing, monkeypatch):
    def fail(*_):
        raise KeyError("a fault of ours")

    monkeypatch.setattr("service.api.health.current_revision", fail)
    answer = sharing.get("/readyz", headers={"Origin": SHOP})
    assert (answer.status_code, answer.headers["access-control-allow-origin"]) == (500, SHOP)


def test_another_origin_stays_outside(sharing):
    other = {**PREFLIGHT, "Origin": "https://other.example"}
    refused = sharing.request("OPTIONS", "/v1/evaluations", headers=other)
    assert (refused.status_code, refused.headers["content-type"]) == (405, "application/problem+json")
    assert (refused.json()["type"], refused.headers["allow"]) == ("/problems/method-not-allowed", "GET, HEAD, POST")
    assert "origin" in refused.json()["detail"]
    assert "access-control-allow-origin" not in refused.headers
    assert "access-control-allow-origin" not in sharing.get("/v1/parts", headers={"Origin": other["Origin"]}).headers


@pytest.mark.parametrize(
    ("asked", "said"),
    [("Access-Control-Request-Method: PATCH", "method"), ("Access-Control-Request-Headers: x-mine", "headers")],
)
def test_a_named_origin_is_told_what_it_may_not(sharing, asked, said):
    refused = sharing.request("OPTIONS", "/v1/parts", headers=PREFLIGHT | dict([asked.split(": ")]))
    assert (refused.status_code, refused.headers["access-control-allow-origin"]) == (405, SHOP)
    assert refused.headers["content-type"] == "application/problem+json"
    assert said in refused.json()["detail"]


def test_all_origins_may_be_named(settings, new_client):
    client = new_client(create_app(replace(settings, cors_origins=("*",))))
    assert client.get("/v1/parts", headers={"Origin": SHOP}).headers["access-control-allow-origin"] == "*"
