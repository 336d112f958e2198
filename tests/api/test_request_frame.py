"""What every request passes through: its id, the headers that every answer has, and HEAD."""

import pytest


@pytest.mark.parametrize("given", ["till-7.order_12", "a" * 64, "01a212d6-7390-7114-8e6b-8c1c50d0b850"])
def test_a_sane_id_is_echoed(shared_client, given):
    assert shared_client.get("/healthz", headers={"X-Request-Id": given}).headers["x-request-id"] == given


@pytest.mark.parametrize("given", ["", "a" * 65, "two words", "<b>", "å", "a;b"])
def test_any_other_is_replaced(shared_client, given):
    answer = shared_client.get("/healthz", headers={"X-Request-Id": given.encode()})
    assert answer.headers["x-request-id"] != given
    assert len(answer.headers["x-request-id"]) == 36


@pytest.mark.parametrize("path", ["/healthz", "/v1/parts", "/v1/wheels", "/problems/not-valid", "/openapi.json"])
def test_every_answer_has_an_id_of_its_own(shared_client, path):
    ids = {shared_client.get(path).headers["x-request-id"] for _ in range(3)}
    assert len(ids) == 3


@pytest.mark.parametrize("path", ["/healthz", "/v1/parts/KES-TOP-20", "/v1/wheels"])
def test_head_is_get_without_the_body(shared_client, path):
    got, head = shared_client.get(path), shared_client.request("HEAD", path)
    assert (head.status_code, head.content) == (got.status_code, b"")
    assert head.headers["content-length"] == got.headers["content-length"]
    assert head.headers.get("etag") == got.headers.get("etag")


@pytest.mark.parametrize(
    ("path", "status"),
    [("/healthz", 200), ("/metrics", 200), ("/docs", 200), ("/v1/parts", 200), ("/v1/parts?limit=0", 422), ("/x", 404)],
)
def test_every_answer_tells_a_browser_to_be_careful(shared_client, path, status):
    answer = shared_client.get(path)
    assert answer.status_code == status
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["x-frame-options"] == "DENY"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cache-control"] == "private, no-cache"
    assert "server" not in answer.headers


def test_encryption_is_to_stay_where_it_is_in_use(shared_client):
    secure = shared_client.get("https://service.test/healthz")
    assert secure.headers["strict-transport-security"] == "max-age=31536000"
    assert "strict-transport-security" not in shared_client.get("/healthz").headers


def test_an_unchanged_answer_keeps_its_cache_control(shared_client):
    tag = shared_client.get("/v1/parts/KES-TOP-20").headers["etag"]
    unchanged = shared_client.get("/v1/parts/KES-TOP-20", headers={"If-None-Match": tag})
    assert (unchanged.status_code, unchanged.headers["cache-control"]) == (304, "private, no-cache")  # RFC 9110, 15.4.5
