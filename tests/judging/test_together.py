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
        self.mended = []

    def remedies(self, verdicts, rows):
        self.mended.append((threading.current_thread() is threading.main_thread(), [verdicts.builds[r] for r in rows]))
        return [(f"remedy of {verdicts.builds[row]}",) for row in rows]

    def __call__(self, builds):
        if "bad" in builds:
            raise ZeroDivisionError
        self.calls.append(list(builds))
        return Answered(builds)


class Answered:
    def __init__(self, builds):
        self.builds = builds

    def fails(self, row):
        return self.builds[row] in ("mendable", "costly")

    def record(self, row):
        return {"build": self.builds[row]}


@pytest.fixture
def engine(monkeypatch):
    engine = Engine()
    monkeypatch.setattr(module, "evaluate", engine)
    monkeypatch.setattr(module, "remedies", engine.remedies)
    monkeypatch.setattr(module, "is_costly", lambda verdicts, row: verdicts.builds[row] == "costly")
    return engine


def verdict_on(build):
    return {"build": build}, ()


def test_what_comes_at_once_is_judged_in_one_call(engine):
    async def at_once():
        together = Together()
        return await asyncio.gather(*(together.verdict(number) for number in range(20)))

    assert asyncio.run(at_once()) == [verdict_on(number) for number in range(20)]
    assert engine.calls == [list(range(20))]


def test_a_crowd_is_judged_in_parts(engine):
    async def crowd():
        together = Together()
        return await asyncio.gather(*(together.verdict(number) for number in range(100)))

    assert asyncio.run(crowd()) == [verdict_on(number) for number in range(100)]
    assert [len(call) for call in engine.calls] == [32, 32, 32, 4]


def test_who_comes_in_the_next_turn_is_waited_for_but_one_alone_waits_for_nobody(engine):
    async def in_turns(first, then):
        together = Together()
        asked = [asyncio.create_task(together.verdict(number)) for number in first]
        await asyncio.sleep(0)
        asked += [asyncio.create_task(together.verdict(number)) for number in then]
        return await asyncio.gather(*asked)

    assert asyncio.run(in_turns([1, 2, 3], [4, 5])) == [verdict_on(number) for number in range(1, 6)]
    assert engine.calls == [[1, 2, 3, 4, 5]]
    engine.calls.clear()
    assert asyncio.run(in_turns([1], [2, 3])) == [verdict_on(number) for number in range(1, 4)]
    assert engine.calls == [[1], [2, 3]]


def test_a_stream_of_questions_is_answered_before_it_ends(engine):
    async def stream():
        together = Together()
        asked = []
        for number in range(0, 200, 2):
            asked += [asyncio.create_task(together.verdict(each)) for each in (number, number + 1)]
            await asyncio.sleep(0)
        return asked[0].done(), await asyncio.gather(*asked)

    first_done, answers = asyncio.run(stream())
    assert first_done
    assert answers == [verdict_on(number) for number in range(200)]
    assert max(len(call) for call in engine.calls) == 32


def test_what_comes_later_is_judged_later(engine):
    async def one_by_one():
        together = Together()
        return [await together.verdict(number) for number in range(3)]

    assert asyncio.run(one_by_one()) == [verdict_on(number) for number in range(3)]
    assert engine.calls == [[0], [1], [2]]


@pytest.mark.usefixtures("engine")
def test_a_failure_reaches_each_of_them_and_none_waits_for_ever():
    async def failing():
        together = Together()
        first = await asyncio.gather(together.verdict("good"), together.verdict("bad"), return_exceptions=True)
        return first, await together.verdict("good")

    first, after = asyncio.run(failing())
    assert [type(each) for each in first] == [ZeroDivisionError, ZeroDivisionError]
    assert after == verdict_on("good")


def test_who_has_gone_is_not_judged(engine):
    async def leaving():
        together = Together()
        gone = asyncio.ensure_future(together.verdict("gone"))
        await asyncio.sleep(0)
        gone.cancel()
        return await together.verdict("stayed")

    assert asyncio.run(leaving()) == verdict_on("stayed")
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
        assert answers[name] == [verdict_on((name, number)) for number in range(50)]
    assert all(len({name for name, _ in call}) == 1 for call in engine.calls)


def test_remedies_are_found_at_once_and_the_costly_ones_beside_the_loop(engine):
    async def some():
        together = Together()
        builds = ("mendable", "clear", "costly", "mendable")
        wanted = [together.verdict(build) for build in builds]
        return await asyncio.gather(*wanted, together.verdict("mendable", wants_remedies=False))

    answers = asyncio.run(some())
    assert [found for _, found in answers] == [
        ("remedy of mendable",), (), ("remedy of costly",), ("remedy of mendable",), (),
    ]  # fmt: skip
    assert sorted(engine.mended) == [(False, ["costly"]), (True, ["mendable", "mendable"])]


def test_the_remedies_of_many_are_found_beside_the_loop(engine):
    async def many():
        together = Together()
        return await asyncio.gather(*(together.verdict(build) for build in ("clear", *["mendable"] * 5)))

    answers = asyncio.run(many())
    assert [found for _, found in answers] == [(), *[("remedy of mendable",)] * 5]
    assert engine.mended == [(False, ["mendable"] * 5)]


@pytest.mark.usefixtures("engine")
def test_a_failure_beside_the_loop_is_heard_of_too(monkeypatch):
    def failing(_verdicts, rows):
        if rows:
            raise ZeroDivisionError
        return []

    monkeypatch.setattr(module, "remedies", failing)

    async def both():
        together = Together()
        return await asyncio.gather(together.verdict("costly"), together.verdict("clear"), return_exceptions=True)

    costly, clear = asyncio.run(both())
    assert isinstance(costly, ZeroDivisionError)
    assert clear == verdict_on("clear")
