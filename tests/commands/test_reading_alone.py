"""Commands that only read: a database that is not there, and a copy that may not be written to."""

import shutil

import pytest

from service.__main__ import main

READING = [["verify-ledger"], ["replay", "--since", "2020-01-01"], ["export", "all.jsonl"], ["keys", "list"]]


@pytest.mark.parametrize("arguments", READING)
def test_a_copy_that_may_not_be_written_to_is_read(demo_database, tmp_path, monkeypatch, arguments):
    copy = shutil.copy(demo_database, tmp_path / "copy.sqlite3")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COILGAP_DATABASE_URL", f"sqlite:///file:{copy}?immutable=1&uri=true")
    assert main(arguments) == 0


@pytest.mark.parametrize("arguments", [*READING, ["keys", "revoke", "0" * 12], ["sweep"]])
def test_a_database_that_is_not_there_is_told_and_not_made(tmp_path, monkeypatch, capsys, arguments):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COILGAP_DATABASE_URL", "sqlite:///coilgap.sqlite3")
    assert main(arguments) == 1
    file = tmp_path / "coilgap.sqlite3"
    told = (
        f"coilgap: There is no database at {file}: No such file or directory. COILGAP_DATABASE_URL says where it is.\n"
    )
    assert capsys.readouterr() == ("", told)
    assert list(tmp_path.iterdir()) == []


def test_what_cannot_be_opened_is_named(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", f"sqlite:///{tmp_path}")
    assert main(["verify-ledger"]) == 1
    assert capsys.readouterr().err.endswith(f"unable to open database file ({tmp_path})\n")
