"""What a sweep does beside others: other processes, other sweeps, clusters that are not fit for it."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest
from process_groups import SECONDS_TO_END, ends, wait_for_workers
from sqlalchemy import select

from service.__main__ import main
from service.catalogue.revisions import PARTS, VEHICLES, current, revise, withdraw
from service.database import Database
from service.shelf import workers
from service.shelf.standing import VERDICTS
from service.shelf.sweeping import Sweep, Swept, sweep
from service.shelf.workers import ClusterError, judging

ALONE = Sweep(processes=1)


@pytest.fixture
def database(demo_url):
    with closing(Database(demo_url)) as database:
        yield database


@pytest.fixture
def embedded(settings):
    with closing(Database(settings.database_url)) as database:
        yield database


def table(database):
    with database.reading() as connection:
        rows = connection.execute(select(*VERDICTS.c))
        return sorted(tuple(row) for row in rows)


def test_two_sweeps_at_once_leave_what_one_leaves(database):
    with ThreadPoolExecutor(2) as threads:
        both = list(threads.map(lambda _: sweep(database, ALONE), range(2)))
    there = table(database)
    assert max(each.swept for each in both) <= len(there) <= sum(each.swept for each in both)
    with database.writing() as connection:
        connection.execute(VERDICTS.delete())
    assert sweep(database, ALONE) == Swept(len(there), 0, 0)
    assert table(database) == there


def test_only_what_has_changed_is_judged_on_either_database(database):
    first = sweep(database, ALONE)
    before = table(database)
    with database.writing() as connection:
        stored = current(connection, PARTS, ("KES-TOP-10",))
        revise(connection, PARTS, stored, {**stored.body, "thickness_mm": 11}, {})
    second = sweep(database, ALONE)
    changed = set(table(database)) - set(before)
    assert 0 < second.swept == len(changed) < first.swept
    assert {sku for _, _, sku, *_ in changed} <= {"KES-TOP-10", *kits_of(database, "KES-TOP-10")}
    with database.writing() as connection:
        withdraw(connection, PARTS, current(connection, PARTS, ("KES-TOP-10",)))
    assert sweep(database, ALONE).removed == sum(sku == "KES-TOP-10" for _, _, sku, *_ in before) > 0


def kits_of(database, sku):
    with database.reading() as connection:
        kits = connection.execute(select(PARTS.heads.c.sku).where(PARTS.heads.c.kind == "kit")).scalars()
        bodies = {kit: current(connection, PARTS, (kit,)).body for kit in kits}
    return {kit for kit, body in bodies.items() if sku in {entry["sku"] for entry in body["parts"]}}


def test_a_withdrawn_vehicle_can_be_swept_away_by_itself(database):
    sweep(database, ALONE)
    before = table(database)
    with database.writing() as connection:
        for vehicle in ("tarn-300-double-cab", "wendrith-4-estate"):
            withdraw(connection, VEHICLES, current(connection, VEHICLES, (vehicle,)))
    swept = sweep(database, Sweep(processes=1, vehicle="wendrith-4-estate"))
    left = table(database)
    assert left == [row for row in before if row[0] != "wendrith-4-estate"]
    assert swept == Swept(0, 0, len(before) - len(left))


def test_a_vehicle_that_nobody_knows_is_told_of(embedded, settings, monkeypatch, capsys):
    monkeypatch.setenv("COILGAP_DATABASE_URL", settings.database_url)
    assert main(["sweep", "--vehicle", "nobodys"]) == 1
    assert capsys.readouterr().err == "coilgap: The catalogue has no vehicle nobodys.\n"
    for count in ("0", "two", "1.5", "9999"):
        with pytest.raises(SystemExit):
            main(["sweep", "--processes", count])
        assert "expected a whole number from 1 to 1024" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["sweep", "--processes", "2", "--scheduler", "tcp://127.0.0.1:9"])
    assert "not allowed with" in capsys.readouterr().err
    assert table(embedded) == []


def sweeping(settings):
    """A sweep on two processes in a group of its own, as one that is started in a terminal."""
    return subprocess.Popen(
        [sys.executable, "-m", "service", "sweep", "--processes", "2"],
        env={**os.environ, "COILGAP_DATABASE_URL": settings.database_url},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
@pytest.mark.parametrize("how", ["at once", "later"])
def test_an_interrupt_is_told_in_one_line(embedded, settings, how):
    process = sweeping(settings)
    wait_for_workers(process)
    if how == "later":
        time.sleep(1.0)
    os.killpg(process.pid, signal.SIGINT)  # as Ctrl-C in a terminal: all of them hear it
    out, err = process.communicate(timeout=SECONDS_TO_END)
    assert (process.returncode, err) in ((130, "coilgap: stopped.\n"), (0, ""))
    assert bool(out) == (err == "")  # or it was quicker
    assert ends(process.pid)
    sweep(embedded, ALONE)
    there = table(embedded)
    with embedded.writing() as connection:
        connection.execute(VERDICTS.delete())
    sweep(embedded, ALONE)
    assert table(embedded) == there


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_nobody_outlives_a_sweep_that_is_killed(settings):
    process = sweeping(settings)
    wait_for_workers(process)
    process.kill()
    process.communicate(timeout=SECONDS_TO_END)
    assert ends(process.pid)


@pytest.fixture(scope="module")
def cluster():
    distributed = __import__("distributed") if "CI" in os.environ else pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=":0", host="127.0.0.1"
    ) as cluster:
        yield cluster


def test_a_cluster_with_another_engine_is_refused(cluster, monkeypatch):
    monkeypatch.setattr(workers, "ENGINE_VERSION", "other")
    with (
        pytest.raises(ClusterError, match=r"have engine \d+, and here it is other"),
        judging(None, cluster.scheduler_address),
    ):
        pass


def test_a_cluster_without_workers_is_refused(cluster, monkeypatch):
    monkeypatch.setattr(workers, "CONNECT_TIMEOUT_S", 1)
    cluster.scale(0)
    for _ in range(100):
        if not cluster.scheduler.workers:
            break
        time.sleep(0.1)
    with pytest.raises(ClusterError, match="has no workers"), judging(None, cluster.scheduler_address):
        pass
