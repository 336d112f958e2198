"""The one place where all layers meet."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool

from service.api import axles, batch, evaluations, exports, fits, health, imports, pages, parts, searches, vehicles
from service.api.admission import Admission
from service.api.body import RawRoute
from service.api.cross_origin import allow_origins
from service.api.demo import load_demo
from service.api.document import openapi_document
from service.api.frame import RequestFrame
from service.api.gate import Gate
from service.api.problems import ERROR_TABLE, answer_error
from service.api.rate_limits import RateLimits
from service.api.straight import Straight
from service.catalogue.references import References
from service.catalogue.upgrade import ready_database
from service.counter import counter
from service.counter.door import DoorShutError
from service.counter.sheets import SHEETS
from service.database import Database
from service.idempotency.turns import Turns
from service.judging.batches import Batches
from service.judging.current import Current
from service.judging.ready import ReadyAnswers
from service.judging.search_queue import SearchQueue
from service.judging.together import Together
from service.keys.issuing import any_key_in_force
from service.keys.ring import KeyRing
from service.ledger.writer import LedgerWriter
from service.process_pool import spare_cores
from service.settings import PREFIX, Settings, StartRefusedError
from service.web import Service

ROUTERS = (
    evaluations.router,
    batch.router,
    searches.router,
    parts.router,
    vehicles.router,
    axles.router,
    fits.router,
    imports.router,
    exports.router,
    health.router,
    pages.router,
    counter.inside,
    counter.router,
    counter.home,
)
"""In the order in which a request's address is compared: the busiest first."""


def create_app(settings: Settings) -> FastAPI:
    """A ready application on an open, current database. Raises ``StartRefusedError``, which says why not."""
    service = open_service(settings)
    app = FastAPI(
        title="Coilgap",
        docs_url=None,  # the framework's page loads its script from somewhere else; ours is /docs
        redoc_url=None,
        redirect_slashes=False,
        generate_unique_id_function=lambda route: route.name,
        lifespan=_closing_at_end,
    )
    app.state.service = service
    app.state.routes = [*app.routes, *(route for router in (evaluations.asking, *ROUTERS) for route in router.routes)]
    app.openapi = partial(openapi_document, app)  # type: ignore[method-assign]
    admission = Admission(service.keys, RateLimits(settings), needs_keys=settings.needs_keys)
    app.state.admission = admission
    app.state.sheets = SHEETS
    app.state.problem_page = counter.answer_problem
    # The last one that is added is the first that a request meets.
    app.add_middleware(Straight, routes=[route for route in evaluations.asking.routes if isinstance(route, RawRoute)])
    larger = {imports.PATH: settings.max_import_bytes}
    app.add_middleware(Gate, admission=admission, most_bytes=settings.max_body_bytes, most_bytes_at=larger)
    if settings.cors_origins:
        allow_origins(app, settings.cors_origins)
    app.add_middleware(RequestFrame, access_log=settings.access_log)
    for exception in {exception for exception, _, _ in ERROR_TABLE if exception is not Exception}:
        app.add_exception_handler(exception, answer_error)
    app.add_exception_handler(DoorShutError, counter.answer_shut)
    app.router.routes.extend(
        evaluations.asking.routes
    )  # not included as the others: that would cost each of them 10 us
    for router in ROUTERS:
        app.include_router(router)
    return app


def open_service(settings: Settings) -> Service:
    database = ready_database(settings.database_url, settings.database_pool, settings.database_timeout_s)
    if settings.needs_keys:
        _refuse_without_keys(database, settings)
    if settings.demo and database.embedded:
        load_demo(database)
    ledger, references = LedgerWriter(database), References(database)
    processes = spare_cores(1) if settings.batch_processes is None else settings.batch_processes
    batches = Batches(references, settings.database_url, settings.database_timeout_s, processes)
    return Service(
        settings,
        database,
        references,
        ledger,
        ReadyAnswers(),
        Current(references, embedded=database.embedded),
        Together(),
        batches,
        KeyRing(database),
        Turns(),
        SearchQueue(database),
    )


def _refuse_without_keys(database: Database, settings: Settings) -> None:
    """Nobody could call: that is better noticed now."""
    with database.reading() as connection:
        if any_key_in_force(connection):
            return
    database.close()
    stated = f"{PREFIX}HOST={settings.host} can be reached from other machines"
    if settings.keys == "required":
        stated = f"{PREFIX}KEYS=required"
    raise StartRefusedError(
        f"{stated}, and no key is in force: issue one first, with "
        "python -m service keys issue NAME --scopes evaluate,catalogue."
    )


@asynccontextmanager
async def _closing_at_end(app: FastAPI) -> AsyncIterator[None]:
    yield
    await run_in_threadpool(app.state.service.close)  # who is told that the service ends must hear of it meanwhile
