"""``verify-ledger``: what it prints, and its exit status."""

import re

import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from service.__main__ import main
from service.app import create_app
from service.settings import Settings

QUESTION = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}}


@pytest.fixture
def client(demo_url, new_client):
    return new_client(create_app(Settings(database_url=demo_url)))


@pytest.fixture
def command(demo_url, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", demo_url)

    def run(*arguments):
        capsys.readouterr()
        return main(["verify-ledger", *arguments]), capsys.readouterr().out

    return run


def test_a_whole_chain_ends_with_its_head(client, command):
    for _ in range(3):
        assert client.evaluate(**QUESTION).status_code == 201
    status, said = command()
    assert status == 0
    first, head = said.splitlines()
    assert first == "coilgap: 3 records, the chain is whole. Its head, to be noted down elsewhere:"
    assert re.fullmatch(r"3:[0-9a-f]{64}", head)
    client.evaluate(**QUESTION)
    assert command("--head", head)[0] == 0  # a head of earlier stays true


def test_flaws_are_listed_and_counted(client, command):
    for _ in range(3):
        client.evaluate(**QUESTION)
    noted = command()[1].splitlines()[-1]
    database = client.app.state.service.database
    with database.writing() as connection:
        if database.embedded:
            connection.execute(text("DROP TRIGGER evaluation_no_update"))
        else:
            connection.execute(text("SET LOCAL session_replication_role = replica"))
        connection.execute(text("UPDATE evaluation SET headline = 'Fits.' WHERE place = 2"))
        record_id = connection.execute(text("SELECT id FROM evaluation WHERE place = 2")).scalar()
    assert command() == (
        1,
        f"Record {record_id} at place 2 was altered.\ncoilgap: 3 records, 1 flaw in the chain.\n",
    )
    status, said = command("--head", noted.replace("3:", "5:"))
    assert status == 1
    assert "The ledger was cut off: it ends at place 3, and place 5 was noted down." in said


@pytest.mark.parametrize("head", ["", "3", "3:abc", "x:" + "0" * 64])
def test_a_head_that_is_none_is_refused(command, head):
    with pytest.raises(SystemExit) as ended:
        command("--head", head)
    assert ended.value.code == 2


@pytest.mark.usefixtures("command")
def test_a_database_that_goes_away_meanwhile_is_a_line_and_no_traceback(monkeypatch, capsys):
    def away(*_):
        raise OperationalError("SELECT", {}, Exception("the server closed the connection\nin the middle"))

    monkeypatch.setattr("service.commands.verify_ledger.verify", away)
    assert main(["verify-ledger"]) == 1
    assert capsys.readouterr().err == "coilgap: The database cannot be reached: the server closed the connection\n"
