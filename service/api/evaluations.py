"""Evaluations: the verdict on one combination, and the records of them."""

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Path, Query
from pydantic import AfterValidator, Field
from starlette.convertors import StringConvertor, register_url_convertor
from starlette.requests import Request
from starlette.responses import Response

from service.api.accepts import preferred_type
from service.api.answers import NOT_MODIFIED, READS, TAKES_BODY, IfNoneMatch, answers, good
from service.api.body import JsonRoute, RawRoute, json_text, parse
from service.api.conditions import is_known, whole_list
from service.api.once import along
from service.api.paging import PageQuery, page_response
from service.api.questions import QUESTION_BODY, asked, read_question
from service.api.schemas.values import TIME_PATTERN, End, Sku, Slug, VerdictWord
from service.api.schemas.verdict import RecordItems, VerdictRecord
from service.database import in_utc
from service.ledger.records import RecordFilter, record_body, records
from service.web import Decided, decide, ready, service_of

asking = APIRouter(prefix="/v1/evaluations", tags=["evaluations"], route_class=RawRoute)
router = APIRouter(prefix="/v1/evaluations", tags=["evaluations"], route_class=JsonRoute)


class RecordIdConvertor(StringConvertor):
    """A record's id in an address, told apart there: ``batch`` beside it is none, and has its own methods."""

    regex = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"


register_url_convertor("record_id", RecordIdConvertor())
RecordId = Annotated[str, Path(pattern=f"^{RecordIdConvertor.regex}$")]


def _in_utc(text: str) -> str:
    return in_utc(datetime.fromisoformat(text.upper()))


Time = Annotated[
    str,
    Field(pattern=TIME_PATTERN, json_schema_extra={"format": "date-time"}, description="A time by RFC 3339."),
    AfterValidator(_in_utc),
]

SHOWN = {
    media_type: {"schema": {"type": "string"} | ({"format": "binary"} if media_type == "application/pdf" else {})}
    for media_type in ("text/html", "image/svg+xml", "application/pdf")
}
"""The job sheet, beside the record's JSON."""


class RecordQuery(PageQuery):
    vehicle: Slug | None = None
    axle: End | None = None
    sku: Sku | None = None
    verdict: VerdictWord | None = None
    since: Time | None = Field(default=None, description="From this time on.")
    until: Time | None = Field(default=None, description="Before this time.")


@asking.post(
    "",
    operation_id="evaluate_combination",
    status_code=201,
    responses=answers(
        {
            201: good(VerdictRecord, "The verdict, kept in the ledger.", "Location"),
            200: good(VerdictRecord, 'The verdict, not kept: the request says `"record": false`.'),
        },
        *TAKES_BODY,
    ),
    openapi_extra=QUESTION_BODY,
)
async def evaluate_combination(request: Request) -> Response:
    """Evaluate one combination of parts on one axle. An unsafe combination is a verdict, not an error."""
    service, text = service_of(request), await json_text(request)
    kept = along(request, _response)
    decided = await ready(service, text, kept) or await decide(service, asked(read_question(parse(text))), text, kept)
    return _response(decided)


def _response(decided: Decided) -> Response:
    if decided.record_id is None:
        return Response(decided.body, 200, media_type="application/json")
    return Response(decided.body, 201, {"Location": f"/v1/evaluations/{decided.record_id}"}, "application/json")


@router.get("", responses=answers({200: good(RecordItems, "A page of records, newest first.", "Link")}, 422, 503))
def list_evaluations(request: Request, query: Annotated[RecordQuery, Query()]) -> Response:
    """The records of the ledger."""
    wanted = RecordFilter(query.vehicle, query.axle, query.sku, query.verdict, query.since, query.until)
    with service_of(request).database.reading() as connection:
        items, more = records(connection, wanted, query.after(), query.limit)
    return page_response(request, items, items[-1]["id"] if more else None)


@router.get(
    "/{evaluation_id:record_id}",
    responses=answers(
        {200: good(VerdictRecord, "The record.", "ETag") | {"content": SHOWN}, 304: NOT_MODIFIED},
        *READS,
    ),
)
def read_evaluation(request: Request, evaluation_id: RecordId, if_none_match: IfNoneMatch = None) -> Response:
    """One record, byte for byte as it was answered; or shown to people, where `Accept` asks for a page, SVG or PDF."""
    sheets = request.app.state.sheets
    wanted = preferred_type(whole_list(request, "accept"), ("application/json", *sheets))
    if wanted in sheets:
        shown: Response = sheets[wanted](request, evaluation_id)
        return shown
    tag = f'"{evaluation_id}"'
    with service_of(request).database.reading() as connection:
        body = record_body(connection, evaluation_id)
    if is_known(if_none_match, tag):
        return Response(status_code=304, headers={"ETag": tag, "Vary": "Accept"})
    return Response(body, 200, {"ETag": tag, "Vary": "Accept"}, "application/json")
