"""The counter's own addresses: the page, its verdict alone, what there is to choose from, and its sheets."""

from dataclasses import replace
from urllib.parse import parse_qsl

import orjson
from fastapi import APIRouter, Depends
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import Scope

from service.api.problem_kinds import ProblemKind
from service.counter.alternatives import Alternative
from service.counter.choices import parts_like, vehicles_like
from service.counter.door import DoorShutError, admit, came_from_here, door, keep_key
from service.counter.form import DEMO, DUTIES, ENDS, Form, form_of, without_nul
from service.counter.judged_form import JudgedForm, judged_form
from service.counter.language.choice import reader_of
from service.counter.language.fault_places import place_of
from service.counter.language.reader import Reader
from service.counter.language.sentences import said_fault
from service.counter.pages import STATIC, STATIC_BYTES, page
from service.counter.printed import printed, words_of
from service.counter.sheets import as_drawing, as_page, as_pdf
from service.counter.verdict_view import verdict_view
from service.ledger.records import UnknownRecordError
from service.web import Asked, Service, decide, service_of

router = APIRouter(prefix="/counter", include_in_schema=False)
home = APIRouter(include_in_schema=False)
inside = APIRouter(prefix="/counter", include_in_schema=False, dependencies=[Depends(door)])
EMPTY_ROWS = 2
TOLD = (400, 404, 421, 429, 500, 503)
"""What a page of the counter may be refused with, as its readers are told; all else is told as the first."""


def reader_for(request: Request) -> Reader:
    return reader_of(request.query_params, request.headers.get("accept-language", ""))


@home.get("/")
async def to_the_counter() -> RedirectResponse:
    """Who opens the service's bare address is no program."""
    return RedirectResponse("/counter", 307)


@inside.get("")
def counter_page(request: Request) -> HTMLResponse:
    """The page on the build that its address states; without one, on a demo build."""
    service, reader = service_of(request), reader_for(request)
    stated = [pair for pair in request.query_params.multi_items() if pair[0] not in ("lang", "units")]
    form = form_of(stated) if stated else DEMO
    judged = judged_form(service, form)
    is_demo = not stated
    if is_demo and judged.record is None:
        judged, is_demo = judged_form(service, Form()), False
    return page("page.html", reader, _choices(service, judged, reader) | _shown(judged, reader) | {"is_demo": is_demo})


@inside.get("/verdict")
def verdict_alone(request: Request) -> HTMLResponse:
    """The page's verdict, to be put into the page."""
    reader = reader_for(request)
    judged = judged_form(service_of(request), form_of(request.query_params.multi_items()))
    return page("verdict.html", reader, _shown(judged, reader))


@inside.get("/vehicles")
def vehicle_choices(request: Request) -> JSONResponse:
    with service_of(request).database.reading() as connection:
        found = vehicles_like(connection, without_nul(request.query_params.get("q", "")))
    return JSONResponse([{"value": choice.value, "label": choice.label} for choice in found])


@inside.get("/parts")
def part_choices(request: Request) -> JSONResponse:
    query = request.query_params
    vehicle, end, text = (without_nul(query.get(name, "")) for name in ("vehicle", "end", "q"))
    with service_of(request).database.reading() as connection:
        found = parts_like(connection, (vehicle, end), text, reader_for(request))
    return JSONResponse([{"value": choice.value, "label": choice.label} for choice in found])


@inside.post("/sheets")
async def keep_verdict(request: Request) -> Response:
    """Judge the form once more, keep the verdict, and go on to its job sheet."""
    if not came_from_here(request):
        raise HTTPException(400, "This form was not sent by the counter's own page.")
    pairs = parse_qsl((await request.body()).decode("utf-8", "replace"), keep_blank_values=True)
    service, form = service_of(request), form_of(pairs)
    judged = await run_in_threadpool(judged_form, service, form)
    shown = "".join(f"&{name}={value}" for name, value in pairs if name in ("lang", "units") and value.isalpha())
    if judged.question is None:
        return RedirectResponse(form.address() + shown, 303)
    decided = await decide(service, Asked(judged.question, keep=True), orjson.dumps(judged.question))
    return RedirectResponse(f"/counter/evaluations/{decided.record_id}?{shown[1:]}".rstrip("?"), 303)


@inside.get("/evaluations/{record_id}.{ending}")
def sheet_file(request: Request, record_id: str, ending: str) -> Response:
    """A record's sheet to save or to print."""
    shown = {"pdf": as_pdf, "svg": as_drawing}.get(ending)
    if shown is None:
        raise HTTPException(404)
    return shown(request, record_id)


@inside.get("/evaluations/{record_id}")
def sheet_page(request: Request, record_id: str) -> Response:
    """A record's sheet; a page that says so where there is none."""
    try:
        return as_page(request, record_id)
    except UnknownRecordError:
        return page("unknown.html", reader_for(request), {"record_id": record_id[:100]}, 404)


@router.get("/key")
def key_page(request: Request) -> HTMLResponse:
    return page("key.html", reader_for(request), {"tried": False})


@router.post("/key")
async def take_key(request: Request) -> Response:
    """Take a key from the form, and let in whoever brings a good one."""
    if not came_from_here(request):
        raise HTTPException(400, "This form was not sent by the counter's own page.")
    given = dict(parse_qsl((await request.body()).decode("utf-8", "replace"))).get("key", "").strip()
    await admit(request, given)
    response = RedirectResponse("/counter", 303)
    if given:
        keep_key(response, request, given)
    return response


@router.get("/static/{name}")
async def static_file(name: str) -> Response:
    """A file of the page's own; its address has its version, so it may be kept."""
    if name not in STATIC:
        raise HTTPException(404)
    return Response(STATIC_BYTES[name], 200, {"Cache-Control": "public, max-age=86400"}, STATIC[name])


def answer_shut(request: Request, error: Exception) -> Response:
    """Instead of any page of the counter: the page that asks for a key."""
    tried = isinstance(error, DoorShutError) and error.tried
    return page("key.html", reader_for(request), {"tried": tried}, 401)


def answer_problem(scope: Scope, kind: ProblemKind) -> Response:
    """Instead of a page of the counter: what has gone wrong, and what to do, in the reader's words."""
    request = Request(scope)
    stated = kind.status if kind.status in TOLD else 400
    values = {"told": f"problem_{stated}", "number": scope["state"]["request_id"]}
    return page("problem.html", reader_for(request), values, kind.status)


def _choices(service: Service, judged: JudgedForm, reader: Reader) -> dict[str, object]:
    with service.database.reading() as connection:
        vehicles = vehicles_like(connection, "")
        parts = parts_like(connection, (judged.form.vehicle, judged.form.end), "", reader) if judged.vehicle else []
    return {
        "vehicle_choices": vehicles,
        "part_choices": parts,
        "duties": DUTIES,
        "ends": ENDS,
        "empty_rows": EMPTY_ROWS,
    }


def _shown(judged: JudgedForm, reader: Reader) -> dict[str, object]:
    view = (
        None
        if judged.record is None
        else verdict_view(judged.record, judged.factory, reader, judged.form, judged.limits)
    )
    shown = {"lang": reader.language, "units": reader.units}
    others = [(each, _lift(each, reader), each.form.address(**shown)) for each in judged.alternatives]
    return {
        "judged": judged,
        "form": judged.form,
        "view": view,
        "printed": printed(judged, reader),
        "faults": [(place_of(fault.pointer, reader), said_fault(fault.detail, reader)) for fault in judged.faults],
        "others": others,
        "vehicles": [(each, replace(judged.form, vehicle=each.value).address(**shown)) for each in judged.vehicles],
        "stated": [(text, words_of(text, reader)) for text in judged.form.parts],
    }


def _lift(other: Alternative, reader: Reader) -> str:
    return "" if other.lift_mm is None else reader.figure("lift_mm", *other.lift_mm, signed=True)
