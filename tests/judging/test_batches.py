"""Batches shared out among processes: the same verdicts, in the same order, at one state of the catalogue, whatever
becomes of the processes.
"""

import asyncio
import os
import pickle
import signal
import time
from concurrent.futures import BrokenExecutor, ThreadPoolExecutor, wait
from contextlib import closing

import pytest
from sqlalchemy.exc import OperationalError

from service.catalogue.references import References
from service.catalogue.revisions import PARTS, current, revise
from service.database import Database
from service.engine.refusal import Fault, RefusedError
from service.judging import batches
from service.judging.batches import WORTH_SHARING, Batches, Share
from service.judging.judge import judge_all

ID, TIME = "01999999-0000-7000-8000-000000000000", "2026-01-02T03:04:05Z"
SKUS = ("KES-TOP-20", "NO-SUCH", "KES-SPR-4030")
SECONDS = 60


@pytest.fixture
def catalogue(demo_url):
    """The address of a catalogue in a database of either sort, and what evaluations know of it."""
    with closing(Database(demo_url)) as database, closing(References(database)) as references:
        yield demo_url, database, references


@pytest.fixture
def shared(catalogue):
    """Batches with two processes, which have not begun."""
    url, _, references = catalogue
    with closing(Batches(references, url, 10, 2)) as batches:
        yield batches


def questions(count):
    """Some of them cannot be judged."""
    return [
        {
            "axle": {"vehicle": "tarn-300-double-cab", "end": "front"},
            "parts": [{"sku": SKUS[number % len(SKUS)], "quantity": 1}],
            "load": {"accessories": [], "occupants_kg": float(number)},
            "duty": "sealed_road",
            "policy": "standard",
        }
        for number in range(count)
    ]


def judged(batches, asked):
    return asyncio.run(batches.judge_all(asked))


def told(verdicts):
    return [each.faults if isinstance(each, RefusedError) else each.body(ID, TIME) for each in verdicts]


def begin(shared):
    """Begin the processes; the batch that does is judged by a thread."""
    judged(shared, questions(WORTH_SHARING))
    wait(shared._beginning, SECONDS)
    return [each.result() for each in shared._beginning]


def by_a_thread(*_):
    raise AssertionError("judged in this process")


@pytest.mark.parametrize("count", [WORTH_SHARING, 301])
def test_other_processes_come_to_the_same_verdicts_in_the_same_order(shared, catalogue, monkeypatch, count):
    expected = told(judge_all(catalogue[2].standing(), questions(count)))
    begin(shared)
    monkeypatch.setattr(batches, "judge_all", by_a_thread)
    assert told(judged(shared, questions(count))) == expected
    assert len(expected) == count
    assert {type(each) for each in expected} == {bytes, tuple}


def test_what_is_changed_between_two_batches_is_seen_by_the_second(shared, catalogue, monkeypatch):
    _, database, references = catalogue
    begin(shared)
    before = told(judged(shared, questions(WORTH_SHARING)))
    with database.writing() as connection:
        spacer = current(connection, PARTS, ("KES-TOP-20",))
        revise(connection, PARTS, spacer, spacer.body | {"thickness_mm": 35}, {})
    expected = told(judge_all(references.standing(), questions(WORTH_SHARING)))
    monkeypatch.setattr(batches, "judge_all", by_a_thread)
    assert told(judged(shared, questions(WORTH_SHARING))) == expected != before


def test_a_few_are_not_shared_out(shared):
    judged(shared, questions(WORTH_SHARING - 1))
    assert shared._pool is None


def test_no_process_is_begun_where_there_shall_be_none(catalogue):
    url, _, references = catalogue
    with closing(Batches(references, url, 10, 0)) as alone:
        assert len(judged(alone, questions(WORTH_SHARING))) == WORTH_SHARING
        assert alone._pool is None


def test_a_machine_that_can_begin_none_judges_by_a_thread(shared, monkeypatch, caplog):
    def fail(*_):
        raise OSError("no semaphores here")

    monkeypatch.setattr(batches, "begin_pool", fail)
    for _ in range(2):
        assert len(judged(shared, questions(WORTH_SHARING))) == WORTH_SHARING
    assert [record.levelname for record in caplog.records] == ["WARNING"]  # told once


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs POSIX signals")
def test_a_batch_outlives_a_process_that_dies(shared, catalogue, monkeypatch, caplog):
    expected = told(judge_all(catalogue[2].standing(), questions(WORTH_SHARING)))
    for process in begin(shared):
        os.kill(process, signal.SIGKILL)
    assert told(judged(shared, questions(WORTH_SHARING))) == expected
    assert "by a thread" in caplog.text
    begin(shared)  # others
    monkeypatch.setattr(batches, "judge_all", by_a_thread)
    assert told(judged(shared, questions(WORTH_SHARING))) == expected


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="needs POSIX signals")
def test_the_end_does_not_wait_for_a_process_that_stands_still(shared, monkeypatch):
    monkeypatch.setattr(batches, "SECONDS_TO_END", 0.5)
    begin(shared)
    monkeypatch.setattr(batches, "judge_all", by_a_thread)
    for process in list(shared._pool._processes):
        os.kill(process, signal.SIGSTOP)
    with ThreadPoolExecutor(1) as caller:
        waiting = caller.submit(judged, shared, questions(WORTH_SHARING))
        while not shared._pool._pending_work_items:
            time.sleep(0.01)
        shared.close()
        assert isinstance(waiting.exception(SECONDS), BrokenExecutor)


class Pool:
    """Gives back what it is told to, in place of other processes."""

    def __init__(self, *shares):
        self.shares = shares

    def map(self, *_):
        for share in self.shares:
            if isinstance(share, Exception):
                raise share
            yield share


@pytest.mark.parametrize(
    "pool",
    [
        Pool(Share(7, 7, []), Share(8, 8, [])),
        Pool(Share(7, 7, []), Share(7, 8, [])),
        Pool(Share(7, 7, []), OperationalError("SELECT", {}, Exception("away"))),
    ],
    ids=["the catalogue changed between", "the catalogue changed meanwhile", "the database was away for them"],
)
def test_what_the_processes_cannot_say_is_judged_here(shared, catalogue, pool):
    expected = told(judge_all(catalogue[2].standing(), questions(WORTH_SHARING)))
    assert told(shared._judge_all(pool, questions(WORTH_SHARING), 0)) == expected


def test_a_refusal_is_the_same_in_another_process():
    refused = RefusedError([Fault("/axle/end", "is missing"), Fault("/duty", "is not known")])
    again = pickle.loads(pickle.dumps(refused))  # noqa: S301 — our own
    assert again.faults == refused.faults
    assert str(again) == str(refused) == "/axle/end: is missing; /duty: is not known"
