"""The command line's ``keys``: a key is shown once, listed without its secret, and ended by its id."""

import re

import pytest

from service.__main__ import main
from service.keys.issuing import KEY


@pytest.fixture
def run(migrated_url, monkeypatch, capsys):
    """Runs a command on one database; its exit status, and what it printed and complained of."""
    monkeypatch.setenv("COILGAP_DATABASE_URL", migrated_url)

    def run(*arguments):
        status = main(["keys", *arguments])
        return status, *capsys.readouterr()

    return run


def test_issue_prints_the_key_alone_and_the_advice_beside_it(run):
    status, printed, advice = run("issue", "shop till 3", "--scopes", "evaluate,catalogue", "--expires", "2999-01-01")
    assert status == 0
    assert KEY.fullmatch(printed.removesuffix("\n"))
    assert "cannot be shown again" in advice
    status, printed_list, _ = run("list")
    header, line = printed_list.splitlines()
    assert header.split() == ["key_id", "state", "scopes", "created_at", "expires_at", "last_used_at", "name"]
    assert re.fullmatch(
        printed[8:20] + r"  in force  evaluate catalogue  \S+Z  2999-01-01T00:00:00Z  - +shop till 3", line
    )
    assert printed[21:-1] not in printed_list


def test_without_more_words_a_key_may_evaluate_and_lasts(run):
    run("issue")
    assert re.search(r"in force  evaluate  \S+Z  - +-", run("list")[1])


def test_scopes_may_be_stated_one_by_one(run):
    run("issue", "--scopes", "evaluate", "--scopes", "admin")
    assert "evaluate admin" in run("list")[1]


def test_revoke_ends_a_key(run):
    key_id = run("issue")[1][8:20]
    assert run("revoke", key_id)[0] == 0
    assert f"{key_id}  revoked" in run("list")[1]
    status, printed, complaint = run("revoke", "0" * 12)
    assert (status, printed) == (1, "")
    assert complaint.startswith("coilgap: There is no key 000000000000")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["issue", "--scopes", "all"], "scopes are evaluate, catalogue, admin"),
        (["issue", "--scopes", ","], "scopes are evaluate, catalogue, admin"),
        (["issue", "--scopes", "evaluate,"], "scopes are evaluate, catalogue, admin"),
        (["issue", "--expires", "2020-01-01"], "is past"),
        (["issue", "--expires", "soon"], "say a date"),
        (["issue", ""], "1 to 200 printable"),
        (["issue", "a\nb"], "1 to 200 printable"),
        ([], "required"),
    ],
)
def test_what_makes_no_sense_is_refused(run, capsys, arguments, said):
    with pytest.raises(SystemExit) as ended:
        run(*arguments)
    assert ended.value.code == 2
    assert said in capsys.readouterr().err
    assert len(run("list")[1].splitlines()) == 1


def test_a_database_that_is_not_there_is_told_in_one_line(monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", "postgresql://nobody@127.0.0.1:9/none")
    assert main(["keys", "list"]) == 1
    complaint = capsys.readouterr().err
    assert complaint.startswith("coilgap: The database cannot be opened")
    assert complaint.count("\n") == 1
