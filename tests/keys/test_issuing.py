"""Keys: what they look like, what is kept of them, and which of them are in force."""

import pytest

from service.database import Database
from service.keys.issuing import (
    KEY,
    UnknownKeyError,
    all_keys,
    any_key_in_force,
    issue,
    key_row,
    revoke,
    secret_hash,
    state,
)


@pytest.fixture
def connection(migrated_url):
    database = Database(migrated_url)
    with database.writing() as connection:
        yield connection
    database.close()


def parts(key):
    return KEY.fullmatch(key).groups()


def test_a_key_is_new_each_time_and_only_its_hash_is_kept(connection):
    keys = [issue(connection, f"till {number}", ["evaluate"]) for number in range(50)]
    assert len(set(keys)) == 50
    for key, row in zip(keys, all_keys(connection), strict=False):
        assert len(parts(key)[1]) == 43  # 256 bits in base64url without padding
        assert not any(parts(key)[1] in str(value) for value in row.values())
    row = key_row(connection, parts(keys[7])[0])
    assert row["name"] == "till 7"
    assert row["secret_hash"] == secret_hash(*parts(keys[7]))


def test_a_hash_fits_its_own_row_only():
    assert secret_hash("a" * 12, "same") != secret_hash("b" * 12, "same")


def test_scopes_are_kept_in_one_order_and_once(connection):
    key = issue(connection, "both", ["catalogue", "evaluate", "catalogue"])
    assert key_row(connection, parts(key)[0])["scopes"] == "evaluate catalogue"


def test_which_keys_are_in_force(connection):
    assert not any_key_in_force(connection)
    issue(connection, "past", ["evaluate"], "2020-01-01T00:00:00Z")
    assert not any_key_in_force(connection)
    key_id = parts(issue(connection, "lasting", ["evaluate"], "2999-01-01T00:00:00Z"))[0]
    assert any_key_in_force(connection)
    revoke(connection, key_id)
    assert not any_key_in_force(connection)
    assert {row["name"]: state(row) for row in all_keys(connection)} == {"past": "expired", "lasting": "revoked"}


def test_revoking_again_changes_nothing_and_an_unknown_id_is_told(connection):
    key_id = parts(issue(connection, "n", ["evaluate"]))[0]
    revoke(connection, key_id)
    first = key_row(connection, key_id)["revoked_at"]
    revoke(connection, key_id)
    assert key_row(connection, key_id)["revoked_at"] == first
    with pytest.raises(UnknownKeyError, match="000000000000"):
        revoke(connection, "0" * 12)
