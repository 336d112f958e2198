"""Questions of one turn of the event loop share a call of the engine, and each hears of its own verdict."""

import asyncio
import threading

import pytest

from service.judging import together as module
from service.judging.together import Together


class Engine:
    """Stands in for the engine: its verdict on a build is the build itself, and it counts its calls."""

    def __init__(self):
        self.calls = []

    def __call__(self, builds):
        if "bad" in builds:
            raise ZeroDivisionError
        self.calls.append(list(builds))
        return Answered(builds)


class Answered:
    def __init__(self, builds):
        self.builds = builds

    def record(self, row):
        return {"build": self.builds[row]}


@pytest.fixture
def engine(monkeypatch):
    engine = Engine()
    monkeypatch.setattr(module, "evaluate", engine)
    return engine


def test_what_comes_at_once_is_judged_in_one_call(engine):
    async def at_once():
        together = Together()
        return await asyncio.gather(*(together.verdict(number) for number in range(20)))

    assert asyncio.run(at_once()) == [{"build": number} for number in range(20)]
    assert engine.calls == [list(range(20))]


def test_a_crowd_is_judged_in_parts(engine):
    async def crowd():
        together = Together()
        return await asyncio.gather(*(together.verdict(number) for number in range(100)))

    assert asyncio.run(crowd()) == [{"build": number} for number in range(100)]
    assert [len(call) for call in engine.calls] == [32, 32, 32, 4]


def test_what_comes_later_is_judged_later(engine):
    async def one_by_one():
        together = Together()
        return [await together.verdict(number) for number in range(3)]

    assert asyncio.run(one_by_one()) == [{"build": number} for number in range(3)]
    assert engine.calls == [[0], [1], [2]]


@pytest.mark.usefixtures("engine")
def test_a_failure_reaches_each_of_them_and_none_waits_for_ever():
    async def failing():
        together = Together()
        first = await asyncio.gather(together.verdict("good"), together.verdict("bad"), return_exceptions=True)
        return first, await together.verdict("good")

    first, after = asyncio.run(failing())
    assert [type(each) for each in first] == [ZeroDivisionError, ZeroDivisionError]
    assert after == {"build": "good"}


def test_who_has_gone_is_not_judged(engine):
    async def leaving():
        together = Together()
        gone = asyncio.ensure_future(together.verdict("gone"))
        await asyncio.sleep(0)
        gone.cancel()
        return await together.verdict("stayed")

    assert asyncio.run(leaving()) == {"build": "stayed"}
    assert [build for call in engine.calls for build in call].count("stayed") == 1


def test_two_event_loops_do_not_mix(engine):
    together, answers = Together(), {}

    async def several(name):
        answers[name] = await asyncio.gather(*(together.verdict((name, number)) for number in range(50)))

    loops = [threading.Thread(target=asyncio.run, args=(several(name),)) for name in ("a", "b", "c")]
    for loop in loops:
        loop.start()
    for loop in loops:
        loop.join()
    for name in ("a", "b", "c"):
        assert answers[name] == [{"build": (name, number)} for number in range(50)]
    assert all(len({name for name, _ in call}) == 1 for call in engine.calls)
