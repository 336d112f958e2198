"""The throw-away database server: what happens where a machine has none, and that it runs without rights."""

import os
import pwd
from pathlib import Path

import psycopg
import pytest
import throwaway_postgres


@pytest.fixture
def nothing_installed(monkeypatch):
    monkeypatch.setattr(throwaway_postgres.shutil, "which", lambda _: None)
    monkeypatch.setattr(Path, "glob", lambda *_: [])


@pytest.mark.usefixtures("nothing_installed")
@pytest.mark.parametrize(("ci", "outcome"), [("", pytest.skip), ("false", pytest.skip), ("true", pytest.fail)])
def test_a_missing_server_is_a_skip_and_in_continuous_integration_a_failure(monkeypatch, ci, outcome):
    monkeypatch.setenv("CI", ci)
    with pytest.raises(outcome.Exception, match=r"no initdb: install PostgreSQL.*TEST_POSTGRESQL_URL"):
        throwaway_postgres.program("initdb")


def test_it_is_run_by_a_plain_user(postgres_server):
    if os.environ.get("TEST_POSTGRESQL_URL"):
        pytest.skip("the server is not ours")
    with psycopg.connect(f"{postgres_server}/postgres") as connection:
        (process,) = connection.execute("SELECT pg_backend_pid()").fetchone()
        owner = pwd.getpwuid(Path(f"/proc/{process}").stat().st_uid).pw_name
    assert owner == ("nobody" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name)
