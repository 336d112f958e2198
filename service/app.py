"""The one place where all layers meet."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial

from fastapi import FastAPI

from service.api import axles, evaluations, health, pages, parts, vehicles
from service.api.demo import load_demo
from service.api.document import openapi_document
from service.api.frame import RequestFrame
from service.api.problems import ERROR_TABLE, answer_error
from service.catalogue.references import References
from service.catalogue.upgrade import ready_database
from service.ledger.writer import LedgerWriter
from service.settings import Settings, checked
from service.web import Service

ROUTERS = (evaluations.router, parts.router, vehicles.router, axles.router, health.router, pages.router)
"""In the order in which a request's address is compared: the busiest first."""


def create_app(settings: Settings) -> FastAPI:
    """A ready application on an open, current database. Raises ``StartRefusedError``, which says why not."""
    service = open_service(checked(settings))
    app = FastAPI(
        title="Coilgap",
        docs_url=None,  # the framework's page loads its script from somewhere else; ours is /docs
        redoc_url=None,
        redirect_slashes=False,
        generate_unique_id_function=lambda route: route.name,
        lifespan=_closing_at_end,
    )
    app.state.service = service
    app.state.routes = [route for router in ROUTERS for route in router.routes]
    app.openapi = partial(openapi_document, app)  # type: ignore[method-assign]
    app.add_middleware(RequestFrame, max_body_bytes=settings.max_body_bytes)
    for exception in {exception for exception, _, _ in ERROR_TABLE if exception is not Exception}:
        app.add_exception_handler(exception, answer_error)
    for router in ROUTERS:
        app.include_router(router)
    return app


def open_service(settings: Settings) -> Service:
    database = ready_database(settings.database_url)
    if settings.demo and database.embedded:
        load_demo(database)
    return Service(settings, database, References(database), LedgerWriter(database))


@asynccontextmanager
async def _closing_at_end(app: FastAPI) -> AsyncIterator[None]:
    yield
    app.state.service.close()
