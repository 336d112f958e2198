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


def test_an_embedded_database_is_asked_once_in_each_turn_of_the_loop(server):
    async def in_turns():
        current, told = Current(server, embedded=True), []
        for _ in range(3):
            server.state += 1
            told.append(await asyncio.gather(*(current.standing() for _ in range(16))))
        return told

    assert asyncio.run(in_turns()) == [[1] * 16, [2] * 16, [3] * 16]
    assert server.asked == 3


def test_nobody_who_comes_over_the_wire_hears_of_what_was_before_he_came(server):
    """As of a service: who is told of a change by one answer may ask for what holds now over another connection."""

    async def changing_and_asking():
        current = Current(server, embedded=True)

        async def answer(reader, writer):
            while request := await reader.readline():
                if request == b"change\n":
                    server.state += 1
                    state = server.state
                else:
                    state = await current.standing()
                writer.write(b"%d\n" % state)
            writer.close()

        listening = await asyncio.start_server(answer, "127.0.0.1", 0)
        address = listening.sockets[0].getsockname()
        told = []

        async def caller():
            reader, writer = await asyncio.open_connection(*address)
            for number in range(40):
                held = server.state
                writer.write(b"ask\n" if number % 5 else b"change\n")
                told.append((held, int(await reader.readline())))
            writer.close()

        await asyncio.gather(*(caller() for _ in range(16)))
        listening.close()
        return told

    told = asyncio.run(changing_and_asking())
    assert len(told) == 640
    assert all(answered >= held for held, answered in told)
    assert 1 < server.asked < 512
