"""Commands that only read: a copy that may not be written to."""

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


def test_what_cannot_be_opened_is_named(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", f"sqlite:///{tmp_path}")
    assert main(["verify-ledger"]) == 1
    assert capsys.readouterr().err.endswith(f"unable to open database file ({tmp_path})\n")
