"""Keys over HTTP: who is let in where, and how the others are told."""

from dataclasses import replace

import pytest

from service.app import create_app
from service.keys.issuing import issue, revoke
from service.settings import StartRefusedError

SPACER = {"sku": "INV-15", "name": "N", "supplier": "S", "kind": "strut_top_spacer", "thickness_mm": 15}
QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "record": False}
OPEN = ["/healthz", "/readyz", "/metrics", "/openapi.json", "/docs", "/problems/key-needed"]
CLOSED = ["/v1/parts", "/v1/vehicles", "/v1/evaluations", "/v1/parts/KES-TOP-20", "/v1/wheels", "/v1", "/v1/"]


def new_key(app, *scopes, expires_at=None):
    with app.state.service.database.writing() as connection:
        return issue(connection, "test", scopes, expires_at)


def bearing(key):
    return {"Authorization": f"Bearer {key}"}


@pytest.fixture
def keyed(app, settings, new_client):
    """A service that needs keys, on a database in which some have been issued."""
    new_key(app, "evaluate")
    app.state.service.close()
    return new_client(create_app(replace(settings, keys="required")))


@pytest.mark.parametrize("path", OPEN)
def test_what_concerns_nobody_in_particular_needs_no_key(keyed, path):
    assert keyed.get(path).status_code == 200


@pytest.mark.parametrize("path", CLOSED)
@pytest.mark.parametrize(
    ("headers", "challenge"),
    [
        ({}, 'Bearer realm="coilgap"'),
        ({"Authorization": "Basic dGlsbDpzZWNyZXQ="}, 'Bearer realm="coilgap"'),
        (bearing("coilgap_" + "0" * 12 + "_" + "a" * 43), 'Bearer realm="coilgap", error="invalid_token"'),
        (bearing(""), 'Bearer realm="coilgap", error="invalid_token"'),
        ({"Authorization": b"Bearer \xff"}, 'Bearer realm="coilgap", error="invalid_token"'),
    ],
)
def test_without_a_good_key_nothing_is_told(keyed, path, headers, challenge):
    answer = keyed.get(path, headers=headers)
    assert (answer.status_code, answer.headers["www-authenticate"]) == (401, challenge)
    assert answer.json()["type"] == "/problems/key-needed"


def test_each_scope_allows_its_own(keyed):
    evaluate, catalogue, admin = (bearing(new_key(keyed.app, scope)) for scope in ("evaluate", "catalogue", "admin"))
    asked = [
        ("POST", "/v1/evaluations", {"json": QUESTION}, 200, evaluate, catalogue),
        ("POST", "/v1/evaluations/batch", {"json": {"requests": [QUESTION]}}, 200, evaluate, catalogue),
        ("GET", "/v1/parts/KES-TOP-20", {}, 200, evaluate, catalogue),
        ("HEAD", "/v1/parts", {}, 200, evaluate, catalogue),
        ("POST", "/v1/parts", {"json": SPACER}, 201, catalogue, evaluate),
        ("PUT", "/v1/parts/INV-15", {"json": SPACER}, 428, catalogue, evaluate),
        ("DELETE", "/v1/parts/INV-15", {}, 428, catalogue, evaluate),
        ("POST", "/v1/wheels", {}, 404, catalogue, evaluate),
    ]
    for method, path, content, status, right, wrong in asked:
        refused = keyed.request(method, path, headers=wrong, **content)
        assert refused.status_code == 403
        needed = "evaluate" if right is evaluate else "catalogue"
        assert refused.headers["www-authenticate"].endswith(f'error="insufficient_scope", scope="{needed}"')
        assert keyed.request(method, path, headers=right, **content).status_code == status
    assert keyed.get("/v1/parts", headers=admin).status_code == 200
    assert keyed.put("/v1/parts/INV-15", SPACER, headers=admin).status_code == 428


def test_the_scheme_is_read_in_any_case(keyed):
    key = new_key(keyed.app, "evaluate")
    assert keyed.get("/v1/parts", headers={"Authorization": f"bearer {key}"}).status_code == 200


def test_a_key_that_is_expired_or_revoked_is_refused(keyed):
    expired, revoked = new_key(keyed.app, "evaluate", expires_at="2020-01-01T00:00:00Z"), new_key(keyed.app, "evaluate")
    with keyed.app.state.service.database.writing() as connection:
        revoke(connection, revoked.split("_")[1])
    assert [keyed.get("/v1/parts", headers=bearing(key)).status_code for key in (expired, revoked)] == [401, 401]


def test_a_refusal_comes_before_anything_is_read(keyed):
    too_large = keyed.request("POST", "/v1/evaluations", content=b" " * 2_000_000)
    assert too_large.status_code == 401


def test_a_preflight_is_no_way_in(keyed):
    headers = {"Origin": "https://shop.example", "Access-Control-Request-Method": "GET"}
    assert keyed.request("OPTIONS", "/v1/parts", headers=headers).status_code == 401


def test_on_loopback_no_key_is_needed_but_a_false_one_is_told(client):
    assert client.get("/v1/parts").status_code == 200
    assert client.get("/v1/parts", headers=bearing("false")).status_code == 401
    catalogue = bearing(new_key(client.app, "catalogue"))
    assert client.get("/v1/parts", headers=catalogue).status_code == 403
    assert client.get("/v1/parts", headers={"Authorization": "Basic dGlsbDpzZWNyZXQ="}).status_code == 200


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"host": "0.0.0.0"}, r"COILGAP_HOST=0\.0\.0\.0 can be reached from other machines"),  # noqa: S104
        ({"host": "shop.example"}, "COILGAP_HOST=shop.example"),
        ({"keys": "required"}, "COILGAP_KEYS=required, and no key is in force"),
    ],
)
def test_it_does_not_start_where_nobody_could_call(app, settings, changes, said):
    wanted = replace(settings, **changes)
    with pytest.raises(StartRefusedError, match=said) as refusal:
        create_app(wanted)
    assert "python -m service keys issue" in str(refusal.value)
    new_key(app, "evaluate", expires_at="2020-01-01T00:00:00Z")
    with pytest.raises(StartRefusedError, match="no key is in force"):
        create_app(wanted)
    new_key(app, "evaluate")
    create_app(wanted).state.service.close()
    app.state.service.close()


def test_the_document_says_which_scope_is_needed_and_whether_a_key_is(client, keyed):
    for service, optional in ((client, [{}]), (keyed, [])):
        paths = service.get("/openapi.json").json()["paths"]
        assert paths["/v1/parts"]["get"]["security"] == [{"key": ["evaluate"]}, *optional]
        assert paths["/v1/parts"]["post"]["security"] == [{"key": ["catalogue"]}, *optional]
        assert paths["/v1/evaluations"]["post"]["security"] == [{"key": ["evaluate"]}, *optional]
        assert "security" not in paths["/healthz"]["get"]
