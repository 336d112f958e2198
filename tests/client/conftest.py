"""Both clients, used alike: the awaited one is run in step."""

import asyncio
import inspect

import httpx
import pytest

from service.client import AsyncClient, Client, Patience


class InStep:
    """An awaited client whose every call is waited for, and the things on it likewise."""

    def __init__(self, of, runner):
        self._of, self._runner = of, runner

    def __getattr__(self, name):
        found = getattr(self._of, name)
        if not callable(found):
            return InStep(found, self._runner)

        def call(*arguments, **named):
            made = found(*arguments, **named)
            if inspect.isasyncgen(made):
                return self._runner.run(_listed(made))
            return self._runner.run(made) if inspect.isawaitable(made) else made

        return call


async def _listed(items):
    return [item async for item in items]


@pytest.fixture(params=[Client, AsyncClient], ids=["waiting", "awaited"])
def new_connection(request):
    """Makes clients of one of the two sorts, and closes them."""
    runner = asyncio.Runner()
    made = []

    def connect(address="http://service.test", *arguments, **options):
        client = request.param(address, *arguments, **options)
        made.append(client if request.param is Client else InStep(client, runner))
        return made[-1]

    yield connect
    for client in made:
        client.close() if isinstance(client, Client) else client.aclose()
    runner.close()


@pytest.fixture
def against(new_connection):
    """A client of a service that meets requests with the given outcomes one after the other, and those requests."""

    def connect(*outcomes, **patience):
        left, seen = list(outcomes), []

        def answer(request):
            seen.append(request)
            outcome = left.pop(0)
            if isinstance(outcome, Exception):
                raise outcome
            return httpx.Response(outcome.status_code, content=outcome.content, headers=outcome.headers)

        client = new_connection(transport=httpx.MockTransport(answer), patience=Patience(**patience))
        return client, seen

    return connect
