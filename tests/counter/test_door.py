"""On a service that needs keys the counter is shut to whoever has none, and a cookie brings the key along."""

from dataclasses import replace

import pytest

from service.app import create_app
from service.keys.issuing import issue


@pytest.fixture
def keyed(app, settings, new_client):
    keys = {}
    with app.state.service.database.writing() as connection:
        for scope in ("evaluate", "catalogue"):
            keys[scope] = issue(connection, "test", (scope,), None)
    app.state.service.close()
    client = new_client(create_app(replace(settings, keys="required")))
    client.keys = keys
    return client


@pytest.mark.parametrize("path", ["/counter", "/counter/verdict", "/counter/parts", "/counter/vehicles"])
def test_without_a_key_nothing_of_the_catalogue_is_shown(keyed, path):
    answer = keyed.get(path)
    assert answer.status_code == 401
    assert "tarn" not in answer.text.lower()
    assert 'name="key"' in answer.text


def test_without_a_key_nothing_is_kept_and_no_record_is_shown(keyed):
    assert keyed.request("POST", "/counter/sheets", content="vehicle=tarn-300-double-cab&end=front").status_code == 401
    assert keyed.get("/counter/evaluations/01990000-0000-7000-8000-000000000000").status_code == 401


def test_a_good_key_opens_and_is_out_of_reach_of_scripts_and_other_sites(keyed):
    answer = keyed.request("POST", "/counter/key", content=f"key={keyed.keys['evaluate']}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/counter")
    cookie = answer.headers["set-cookie"]
    assert {"HttpOnly", "SameSite=strict", "Path=/counter"} <= {part.strip() for part in cookie.split(";")}
    assert keyed.get("/counter").status_code == 200


@pytest.mark.parametrize("key", ["", "wrong", "coilgap_" + "0" * 12 + "_" + "a" * 43, "\u05d0"])
def test_a_bad_key_is_told_so(keyed, key):
    answer = keyed.request("POST", "/counter/key", content=f"key={key}".encode())
    assert answer.status_code == 401
    assert "set-cookie" not in answer.headers


def test_a_key_of_another_scope_does_not_open(keyed):
    answer = keyed.request("POST", "/counter/key", content=f"key={keyed.keys['catalogue']}")
    assert answer.status_code == 401
    assert "does not open" in answer.text
