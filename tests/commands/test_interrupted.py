"""Ctrl-C: what a script is told of a command that was not done."""

import os
import signal
import subprocess
import sys

import pytest

from service.__main__ import main


def interrupted(*_, **__):
    os.kill(os.getpid(), signal.SIGINT)


@pytest.mark.parametrize(
    ("step", "arguments"),
    [
        ("command_line.migrate", ["migrate"]),
        ("commands.export_files.unload.folder", ["export", "nowhere"]),
        ("commands.keys.all_keys", ["keys", "list"]),
        ("commands.replay.kept_since", ["replay", "--since", "2020-01-01"]),
        ("commands.sweep.sweep", ["sweep"]),
        ("commands.verify_ledger.verify", ["verify-ledger"]),
    ],
)
def test_a_command_that_is_interrupted_was_not_done(settings, monkeypatch, capsys, step, arguments):
    monkeypatch.setenv("COILGAP_DATABASE_URL", settings.database_url)
    monkeypatch.setattr(f"service.{step}", interrupted)
    assert main(arguments) == 130
    assert capsys.readouterr() == ("", "coilgap: stopped.\n")


def test_serving_is_ended_by_it_also_before_it_has_begun(settings, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", settings.database_url)
    monkeypatch.setenv("COILGAP_PORT", "0")
    monkeypatch.setattr("service.commands.serve.create_app", interrupted)
    assert main(["serve"]) == 0
    assert capsys.readouterr() == ("", "coilgap: stopped.\n")


def test_while_the_service_is_loaded_it_ends_in_one_line(tmp_path):
    (tmp_path / "sqlalchemy.py").write_text("import os, signal\nos.kill(os.getpid(), signal.SIGINT)\n", "utf-8")
    ended = subprocess.run(
        [sys.executable, "-m", "service", "keys", "list"],
        env={**os.environ, "PYTHONPATH": str(tmp_path)}, capture_output=True, text=True, timeout=30, check=False,
    )  # fmt: skip
    assert (ended.returncode, ended.stdout, ended.stderr) == (130, "", "coilgap: stopped.\n")
