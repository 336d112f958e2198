"""The shelf check: which parts on sale may be sold for an axle, each alone on it as it left the factory."""

from __future__ import annotations

from typing import Annotated, Any

import orjson
from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import NOT_MODIFIED, EndName, IfNoneMatch, VehicleName, answers, good
from service.api.body import JsonRoute
from service.api.conditions import is_known
from service.api.schemas.catalogued_parts import CataloguedKind
from service.api.schemas.fits import ShelfFits
from service.catalogue.references import AxleName, Standing
from service.engine import ENGINE_VERSION, POLICIES
from service.shelf.judging import POLICY, Judgement, ShelfJob, judge_shelf
from service.shelf.standing import AxleShelf, axle_shelf, job_of
from service.web import Service, service_of

router = APIRouter(prefix="/v1/vehicles/{vehicle_id}/axles/{end}/fits", tags=["fits"], route_class=JsonRoute)
REVALIDATED = {"Cache-Control": "private, no-cache"}
"""It may be kept, and must be asked for again each time: what is withdrawn must not be sold out of a cache."""


class FitsQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    kind: CataloguedKind | None = Field(default=None, description="Parts of this kind alone, or kits.")


@router.get(
    "",
    responses=answers(
        {200: good(ShelfFits, "What may be sold, and why not the rest.", "ETag"), 304: NOT_MODIFIED}, 404, 422, 503
    ),
)
async def read_fits(
    request: Request,
    vehicle_id: VehicleName,
    end: EndName,
    query: Annotated[FitsQuery, Query()],
    if_none_match: IfNoneMatch = None,
) -> Response:
    """Every part on sale for an axle, or those of one kind: sell, refer or stop, with one reason.

    Each is judged alone on the axle as it left the factory, without a load, for the hardest duty. What a sweep has
    worked out already is answered from its table as long as it holds; the rest is judged on the spot. The whole list is
    one answer.
    """
    service, axle = service_of(request), (vehicle_id, end)
    catalogue = await service.current.standing()
    tag = _tag(catalogue.changes, axle, query.kind)
    headers = {"ETag": tag, **REVALIDATED}
    if is_known(if_none_match, tag) and await _is_there(catalogue, axle):
        return Response(status_code=304, headers=headers)
    shelf, job = await run_in_threadpool(_read, service, axle, query.kind)
    made: list[Judgement] = []
    if job is not None:  # one such list after the other, beside the event loop, as batches are
        made = await service.batches.run(judge_shelf, job)
    body = await run_in_threadpool(_written, shelf, made, query.kind)
    return Response(body, 200, headers, "application/json")


def _tag(changes: int, axle: AxleName, kind: str | None) -> str:
    """The strong entity tag of one list at one state of the catalogue.

    >>> _tag(85, ("tarn-300", "front"), "strut").replace(f".{ENGINE_VERSION}.", ".(engine).")
    '"85.(engine).standard-1.tarn-300.front.strut"'
    """
    policy = f"{POLICY}-{POLICIES[POLICY].version}"
    return f'"{changes}.{ENGINE_VERSION}.{policy}.{".".join(axle)}.{kind or "every"}"'


async def _is_there(catalogue: Standing, axle: AxleName) -> bool:
    """Whether the vehicle is in force and that end of it was measured: what cannot be read is not unchanged either."""
    if catalogue.knows(axle, ()):
        head, _ = catalogue.heads(axle, ())
    else:
        head, _ = await run_in_threadpool(catalogue.heads, axle, ())
    return head is not None and head.active and head.axle_revision is not None


def _read(service: Service, axle: AxleName, kind: str | None) -> tuple[AxleShelf, ShelfJob | None]:
    """The shelf at one moment, and what of it has to be judged on the spot."""
    with service.database.snapshot() as connection:
        shelf = axle_shelf(connection, axle, None if kind is None else [kind])
        return shelf, job_of(connection, shelf) if shelf.open else None


def _written(shelf: AxleShelf, made: list[Judgement], kind: str | None) -> bytes:
    return orjson.dumps(_body(shelf, shelf.held | {each.sku: each for each in made}, kind))


def _body(shelf: AxleShelf, judged: dict[str, Judgement], kind: str | None) -> dict[str, Any]:
    vehicle, end = shelf.axle
    return {
        "vehicle": vehicle,
        "end": end,
        "kind": kind,
        "policy": POLICY,
        "vehicle_revision": shelf.revisions[0],
        "axle_revision": shelf.revisions[1],
        "items": [
            {
                "sku": offer.sku,
                "name": offer.name,
                "kind": offer.kind,
                "revision": offer.revision,
                "verdict": told.verdict,
                "action": told.action,
                "reason": {"check": told.check_name, "because": told.because},
                "lift_mm": None
                if told.lift_mm is None
                else {"value": told.lift_mm, "plus_minus": told.lift_plus_minus_mm},
            }
            for offer in shelf.offers
            for told in (judged[offer.sku],)
        ],
    }
