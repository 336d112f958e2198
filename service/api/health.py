"""Whether the service lives, and whether it can work."""

from typing import Literal

from fastapi import APIRouter
from prometheus_client import CONTENT_TYPE_LATEST
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from service.api.answers import answers, good
from service.api.schemas.values import Strict
from service.catalogue.upgrade import OutdatedDatabaseError, current_revision, newest_revision
from service.metrics import exposition
from service.web import service_of

router = APIRouter(tags=["health"])


class Health(Strict):
    status: Literal["ok", "ready"]


@router.get("/healthz", responses=answers({200: good(Health, "The process lives.")}))
async def healthz() -> Response:
    """Liveness: whether the process answers at all."""
    return Response(b'{"status":"ok"}', media_type="application/json")


@router.get("/metrics", response_class=PlainTextResponse, responses={200: {"description": "What has been counted."}})
def metrics() -> Response:
    """What the service has counted about itself, in the text format of Prometheus."""
    return Response(exposition(), media_type=CONTENT_TYPE_LATEST)


@router.get("/readyz", responses=answers({200: good(Health, "The service can work.")}, 503))
def readyz(request: Request) -> Response:
    """Readiness: whether the database answers and its tables are those of this version."""
    with service_of(request).database.reading() as connection:
        found = current_revision(connection)
    if found != newest_revision():
        raise OutdatedDatabaseError(found, newest_revision())
    return Response(b'{"status":"ready"}', media_type="application/json")
