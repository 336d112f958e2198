"""The command line's ``import`` and ``export``: what is said, what is written, and how both end."""

import errno
import json
import os
import re
import signal

import pytest

from service.__main__ import main
from service.api.interchange.columns import PART_MODELS
from service.database import Database

SPACERS = "sku,name,supplier,thickness_mm,thickness_mm_plus_minus\nINV-10,Spacer,Invented,10,0.1\n"
BAD = "sku,name,supplier,thickness_mm\nINV-11,Spacer,Invented,thick\nINV-12,,Invented,0\n"
VEHICLE = {"vehicle_id": "sallow-2", "name": "Sallow 2"}


@pytest.fixture
def run(migrated_url, monkeypatch, capsys):
    """Runs a command on one database; its exit status, and what it printed and complained of."""
    monkeypatch.setenv("COILGAP_DATABASE_URL", migrated_url)

    def run(*arguments):
        status = main([str(argument) for argument in arguments])
        return status, *capsys.readouterr()

    heard = signal.getsignal(signal.SIGINT)
    yield run
    signal.signal(signal.SIGINT, heard)


@pytest.fixture
def spacers(tmp_path):
    return written(tmp_path / "strut_top_spacer.csv", SPACERS)


def written(path, text):
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_named_for_its_kind_is_imported(run, spacers):
    said = "coilgap: 1 row: {} created, 0 {}revised, {} unchanged{}.\n"
    assert run("import", spacers, "--dry-run") == (
        0, "coilgap: 1 row: 1 would be created, 0 would be revised, 0 unchanged; dry run, nothing was imported.\n", "",
    )  # fmt: skip
    assert run("import", spacers) == (0, said.format(1, "", 0, ""), "")
    assert run("import", spacers) == (0, said.format(0, "", 1, ""), "")


def test_another_name_needs_the_kind(run, tmp_path):
    file = written(tmp_path / "price list.csv", SPACERS)
    status, _, errors = run("import", file)
    assert status == 1
    assert f"{file}:1: Say of which kind the parts are" in errors
    assert run("import", file, "--kind", "strut_top_spacer")[0] == 0


@pytest.mark.parametrize("dry_run", [[], ["--dry-run"]])
def test_every_bad_row_is_told_and_nothing_imported(run, tmp_path, spacers, dry_run):
    bad = written(tmp_path / "leaf_block.csv", BAD.replace("thickness_mm", "height_mm"))
    status, printed, errors = run("import", spacers, bad, *dry_run)
    assert status == 1
    assert errors.splitlines()[:3] == [
        f"{bad}:2: height_mm: must be a number, not 'thick'",
        f"{bad}:3: name: is missing",
    ] + ([] if dry_run else ["coilgap: nothing was imported: 2 faults."])
    assert printed == ("coilgap: 3 rows, 2 faults; nothing was imported.\n" if dry_run else "")
    assert "1 would be created" in run("import", spacers, "--dry-run")[1]


def test_a_folder_is_imported_as_a_whole(run, tmp_path):
    folder = tmp_path / "supplier"
    written(folder / "strut_top_spacer.csv", SPACERS)
    written(folder / "vehicles.jsonl", json.dumps(VEHICLE))
    written(folder / "notes.txt", "not for us")
    (folder / "older.csv").mkdir()
    assert run("import", folder)[1] == "coilgap: 2 rows: 2 created, 0 revised, 0 unchanged.\n"


def test_a_folder_that_may_not_be_read_is_told_in_a_line(run, tmp_path, monkeypatch):
    def shut(folder):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(folder))

    with monkeypatch.context() as patched:
        patched.setattr("pathlib.Path.iterdir", shut)
        told = run("import", tmp_path)
    assert told == (1, "", f"coilgap: {tmp_path} cannot be read: Permission denied.\n")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("none.csv", "none.csv cannot be read: No such file"),
        ("notes.txt", "is neither .csv nor .jsonl"),
        ("", "no .csv"),
        ("x" * 300, "cannot be read: File name too long"),
    ],
)
def test_what_is_no_file_is_told_in_a_line(run, tmp_path, name, said):
    written(tmp_path / "notes.txt", "not for us")
    status, printed, errors = run("import", tmp_path / name)
    assert (status, printed) == (1, "")
    assert said in errors
    assert errors.count("\n") == 1


def test_export_gives_back_what_import_takes_byte_for_byte(run, tmp_path, spacers):
    run("import", spacers, written(tmp_path / "vehicles.jsonl", json.dumps(VEHICLE)))
    first, second, one = tmp_path / "first", tmp_path / "second", tmp_path / "all.jsonl"
    assert run("export", first)[0] == run("export", second)[0] == run("export", one)[0] == 0
    names = sorted(path.name for path in first.iterdir())
    assert names == sorted(["vehicles.jsonl", "axles.jsonl", *(f"{kind}.csv" for kind in PART_MODELS)])
    for name in names:
        assert (first / name).read_bytes() == (second / name).read_bytes()
    assert (first / "strut_top_spacer.csv").read_text("utf-8").splitlines() == [
        "sku,kind,name,supplier,status,fits,thickness_mm,thickness_mm_plus_minus",
        "INV-10,strut_top_spacer,Spacer,Invented,active,,10,0.1",
    ]
    assert [json.loads(line)["name"] for line in one.read_text("utf-8").splitlines()] == ["Sallow 2", "Spacer"]
    for source in (first, one):
        assert run("import", source)[1] == "coilgap: 2 rows: 0 created, 0 revised, 2 unchanged.\n"


def test_export_of_one_kind(run, tmp_path, spacers):
    run("import", spacers)
    assert run("export", tmp_path / "strut_top_spacer.csv")[0] == 0
    for target, arguments in (("x.csv", ["--kind", "strut_top_spacer"]), ("folder", ["--kind", "strut_top_spacer"])):
        assert run("export", tmp_path / target, *arguments)[0] == 0
    contents = {
        path.read_text("utf-8")
        for path in (
            tmp_path / "strut_top_spacer.csv",
            tmp_path / "x.csv",
            tmp_path / "folder" / "strut_top_spacer.csv",
        )
    }
    assert len(contents) == 1
    status, _, errors = run("export", tmp_path / "some.csv")
    assert status == 1
    assert "Say the kind of the parts" in errors


@pytest.mark.parametrize("command", ["import", "export"])
def test_no_name_is_not_the_current_folder(run, tmp_path, monkeypatch, capsys, command):
    written(tmp_path / "strut_top_spacer.csv", SPACERS)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as ended:
        run(command, "")
    assert ended.value.code == 2
    assert "a file or folder has a name" in capsys.readouterr().err


def test_export_into_nowhere_is_told_in_a_line(run, tmp_path):
    written(tmp_path / "in the way", "")
    status, _, errors = run("export", tmp_path / "in the way" / "all.jsonl")
    assert status == 1
    assert re.fullmatch(r"coilgap: .* cannot be written: .*\.\n", errors)


def test_an_import_that_is_interrupted_says_that_nothing_was_imported(run, spacers, monkeypatch):
    def interrupted(*_):
        os.kill(os.getpid(), signal.SIGINT)

    with monkeypatch.context() as patched:
        patched.setattr("service.api.interchange.load._vehicle_faults", interrupted)  # when all has been stored
        told = run("import", spacers, written(spacers.with_name("vehicles.jsonl"), json.dumps(VEHICLE)))
    assert told == (130, "", "coilgap: stopped: nothing was imported.\n")
    assert "1 would be created" in run("import", spacers, "--dry-run")[1]


def test_what_is_about_to_be_committed_is_imported_in_spite_of_an_interrupt(run, spacers, monkeypatch):
    ending = Database.close

    def interrupted(database):
        os.kill(os.getpid(), signal.SIGINT)
        ending(database)

    monkeypatch.setattr(Database, "close", interrupted)
    assert run("import", spacers) == (0, "coilgap: 1 row: 1 created, 0 revised, 0 unchanged.\n", "")


def test_a_terminal_sees_bars(run, spacers, monkeypatch):
    monkeypatch.setenv("FORCE_COLOR", "1")
    _, printed, errors = run("import", spacers)
    assert "1 created" in printed
    plain = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", errors)
    assert re.search(r"checking .* 1/1 .*\n.*storing .* 1/1 ", plain)
