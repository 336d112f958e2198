"""A sweep gives the same table whichever way it ran, does only what has changed, and goes on after a kill."""

import os
import signal
import subprocess
import sys
import time

import pytest
from sqlalchemy import func, select

from service.__main__ import main
from service.api.interchange.load import load
from service.api.interchange.naming import source_file
from service.catalogue.revisions import PARTS, VEHICLES, current, revise, withdraw
from service.database import canonical
from service.shelf import workers
from service.shelf.standing import VERDICTS
from service.shelf.sweeping import Sweep, Swept, sweep
from service.shelf.workers import ClusterError

ALONE = Sweep(processes=1)


def table(database):
    with database.reading() as connection:
        rows = connection.execute(select(*VERDICTS.c).order_by(VERDICTS.c.vehicle_id, VERDICTS.c.end, VERDICTS.c.sku))
        return [tuple(row) for row in rows]


def emptied(database):
    with database.writing() as connection:
        connection.execute(VERDICTS.delete())


def test_one_process_two_and_a_cluster_make_the_same_table(database):
    distributed = pytest.importorskip("distributed") if "CI" not in os.environ else __import__("distributed")
    swept = sweep(database, ALONE)
    alone = table(database)
    assert len(alone) == swept.swept > 50
    emptied(database)
    assert sweep(database, Sweep(processes=2)) == swept
    assert table(database) == alone
    emptied(database)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0", host="127.0.0.1"
    ) as cluster:
        assert sweep(database, Sweep(scheduler=cluster.scheduler_address)) == swept
    assert table(database) == alone


def test_only_what_a_change_touches_is_judged_again(database):
    first = sweep(database, ALONE)
    assert sweep(database, ALONE) == Swept(0, first.swept, 0)
    with database.writing() as connection:
        stored = current(connection, PARTS, ("DUN-ARM-T",))
        revise(connection, PARTS, stored, {**stored.body, "ball_joint_reached_at_arch_to_hub_mm": 671}, {})
    # the part itself and the kit that it is in, both sold for one axle
    assert sweep(database, ALONE) == Swept(2, first.swept - 2, 0)
    with database.writing() as connection:
        withdraw(connection, PARTS, current(connection, PARTS, ("KES-TOP-10",)))
        withdraw(connection, VEHICLES, current(connection, VEHICLES, ("wendrith-4-estate",)))
    axles = {row[:2] for row in table(database)}
    third = sweep(database, ALONE)
    assert third.swept == 0
    assert third.removed == first.swept - third.kept > 1
    assert {row[:2] for row in table(database)} == axles - {
        ("wendrith-4-estate", "front"),
        ("wendrith-4-estate", "rear"),
    }


def test_one_vehicle_alone(database):
    swept = sweep(database, Sweep(processes=1, vehicle="tarn-300-double-cab"))
    assert {row[0] for row in table(database)} == {"tarn-300-double-cab"}
    assert swept.swept == len(table(database))
    assert sweep(database, Sweep(processes=1, vehicle="nobodys")) == Swept(0, 0, 0)
    assert len(table(database)) == swept.swept


def many_parts(database, count=1500):
    """Enough to be killed in the midst of: spacers that are sold for every axle with struts."""
    lines = [
        canonical(
            {
                "sku": f"INV-{number:05}", "name": "Spacer", "supplier": "Invented Works", "kind": "bump_stop_spacer",
                "thickness_mm": 2 + number % 40, "fits": [],
            }
        )
        for number in range(count)
    ]  # fmt: skip
    load(database, [source_file("many.jsonl", b"\n".join(lines))])


def rows_of(database):
    with database.reading() as connection:
        return connection.execute(select(func.count()).select_from(VERDICTS)).scalar_one()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs POSIX signals")
def test_a_sweep_that_is_killed_goes_on_where_it_was(database, settings):
    many_parts(database)
    environment = {**os.environ, "COILGAP_DATABASE_URL": settings.database_url}
    command = [sys.executable, "-m", "service", "sweep", "--processes", "1"]
    killed = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    while not rows_of(database):
        assert killed.poll() is None
        time.sleep(0.01)
    killed.send_signal(signal.SIGKILL)
    killed.wait()
    there = rows_of(database)
    rest = sweep(database, ALONE)
    assert (rest.kept, rest.removed) == (there, 0)
    assert rest.swept > 0
    resumed = table(database)
    emptied(database)
    undisturbed = sweep(database, ALONE)
    assert undisturbed.swept == rest.swept + there
    assert table(database) == resumed


@pytest.fixture
def command(settings, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", settings.database_url)

    def run(*arguments):
        status = main(["sweep", *arguments])
        said = capsys.readouterr()
        return status, said.out + said.err

    return run


def test_the_command_says_what_it_did(command):
    status, said = command("--processes", "1")
    assert status == 0
    assert "judged" in said
    status, said = command("--processes", "1")
    assert (status, said.startswith("coilgap: 0 judged; ")) == (0, True)


def test_a_cluster_that_cannot_be_had_is_told_in_a_line(command, monkeypatch):
    monkeypatch.setattr(workers, "CONNECT_TIMEOUT_S", 1)
    status, said = command("--scheduler", "tcp://127.0.0.1:9")
    assert status == 1
    assert "tcp://127.0.0.1:9 cannot be reached" in said.splitlines()[-1]
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert command("--scheduler", "tcp://127.0.0.1:9") == (
        1, "coilgap: For a cluster install the extra: pip install coilgap[cluster].\n",
    )  # fmt: skip


def test_what_a_judge_raises_is_not_swallowed(database, monkeypatch):
    def fail(_job):
        raise ZeroDivisionError

    monkeypatch.setattr(workers, "judge_shelf", fail)
    with pytest.raises(ZeroDivisionError):
        sweep(database, ALONE)
    assert issubclass(ClusterError, RuntimeError)
