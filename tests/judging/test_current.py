"""The catalogue's state is asked of a server once for all who wait, and never answers anyone with what held before."""

import asyncio
import threading
import time

import pytest

from service.judging.current import Current

SLOW_S = 0.02


class Server:
    """Stands in for a catalogue on a server: it takes its time, and counts the questions."""

    def __init__(self):
        self.state, self.asked, self.away = 0, 0, False
        self._counting = threading.Lock()

    def standing(self):
        with self._counting:
            self.asked += 1
        seen = self.state  # read at the beginning: what changes while it is on its way is not in the answer
        time.sleep(SLOW_S)
        if self.away:
            raise ConnectionError
        return seen


@pytest.fixture
def server():
    return Server()


def test_all_who_wait_share_one_question(server):
    async def many():
        current = Current(server, embedded=False)
        return await asyncio.gather(*(current.standing() for _ in range(100)))

    assert asyncio.run(many()) == [0] * 100
    assert server.asked == 1


def test_who_comes_after_a_change_never_hears_of_what_was_before_it(server):
    async def in_between():
        current, answers = Current(server, embedded=False), []

        async def ask(delay):
            await asyncio.sleep(delay)
            came = server.state
            answers.append((came, await current.standing()))

        async def change():
            for _ in range(40):
                await asyncio.sleep(SLOW_S / 7)
                server.state += 1

        await asyncio.gather(change(), *(ask(number * SLOW_S / 23) for number in range(150)))
        return answers

    answers = asyncio.run(in_between())
    assert len(answers) == 150
    assert all(told >= came for came, told in answers)
    assert any(told > came for came, told in answers)
    assert server.asked < 100


def test_a_failure_reaches_all_who_wait_and_the_next_are_answered(server):
    async def failing():
        current = Current(server, embedded=False)
        server.away = True
        failed = await asyncio.gather(*(current.standing() for _ in range(5)), return_exceptions=True)
        server.away = False
        return failed, await current.standing()

    failed, after = asyncio.run(failing())
    assert [type(each) for each in failed] == [ConnectionError] * 5
    assert after == 0


def test_who_goes_away_takes_nobody_with_him(server):
    async def leaving():
        current = Current(server, embedded=False)
        gone, stayed = (asyncio.ensure_future(current.standing()) for _ in range(2))
        await asyncio.sleep(SLOW_S / 4)
        gone.cancel()
        return await stayed

    assert asyncio.run(leaving()) == 0


def test_an_embedded_database_is_asked_by_each(server):
    async def each():
        current = Current(server, embedded=True)
        return [await current.standing() for _ in range(3)]

    assert asyncio.run(each()) == [0, 0, 0]
    assert server.asked == 3
