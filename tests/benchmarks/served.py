"""The two processes that answer the load: the service as it is, and as little as a framework can do beside it.

Both are one uvicorn process each, on a port of their own choice, set up alike.
"""

import multiprocessing
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection

import demo_combination  # noqa: F401 — makes the service importable from wherever this runs
import uvicorn
from fastapi import FastAPI
from keep_alive_client import HOST
from starlette.responses import Response

from service.api.demo import load_demo
from service.api.schemas.evaluation import EvaluationRequest
from service.app import create_app
from service.catalogue.upgrade import migrate
from service.settings import Settings
from service.worker_process import leave_what_lasts, settle_down

AppFactory = Callable[..., FastAPI]
START_S, STOP_S = 60, 15


def real_app(database_url: str) -> FastAPI:
    """The service with the demo catalogue in a new database."""
    migrate(database_url)
    app = create_app(Settings(database_url=database_url))
    load_demo(app.state.service.database)
    return app


def settled_app(database_url: str) -> FastAPI:
    """The service on a database that has its catalogue already."""
    return create_app(Settings(database_url=database_url, demo=False))


def bare_app(ready: bytes) -> FastAPI:
    """Gives ready bytes in answer; where it is sent a body, it validates that by the same model."""
    app = FastAPI(openapi_url=None)

    @app.get("/bare")
    async def bare_list() -> Response:
        return Response(ready, media_type="application/json")

    @app.post("/bare")
    async def bare(question: EvaluationRequest) -> Response:  # noqa: ARG001 — to be validated is all it is for
        return Response(ready, media_type="application/json")

    return app


@contextmanager
def serving(factory: AppFactory, argument: str | bytes) -> Iterator[int]:
    """The port of a process that serves ``factory(argument)``, until the block ends."""
    context = multiprocessing.get_context("spawn")
    port, child = context.Pipe(duplex=False)
    process = context.Process(target=_serve, args=(factory, argument, child))
    process.start()
    child.close()
    try:
        if not port.poll(START_S):
            raise TimeoutError("the server does not start")
        yield port.recv()
    finally:
        process.terminate()
        process.join(STOP_S)


def _serve(factory: AppFactory, argument: str | bytes, told: Connection) -> None:
    app = factory(argument)
    settle_down()
    leave_what_lasts()
    config = uvicorn.Config(
        app, loop="uvloop", http="httptools", access_log=False, log_level="warning", server_header=False
    )
    with socket.create_server((HOST, 0), backlog=128) as listener:
        told.send(listener.getsockname()[1])
        uvicorn.Server(config).run(sockets=[listener])
