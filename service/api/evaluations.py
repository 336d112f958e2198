"""Evaluations: the verdict on one combination, and the records of them."""

from datetime import UTC, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Path, Query
from pydantic import AfterValidator, Field
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import NOT_MODIFIED, READS, TAKES_BODY, IfNoneMatch, answers, good
from service.api.body import JsonRoute
from service.api.conditions import is_known
from service.api.paging import PageQuery, page_response
from service.api.schemas.evaluation import EvaluationRequest
from service.api.schemas.values import End, Sku, Slug, VerdictWord
from service.api.schemas.verdict import RecordItems, VerdictRecord
from service.ledger.records import RecordFilter, record_body, records
from service.web import decide, service_of

router = APIRouter(prefix="/v1/evaluations", tags=["evaluations"], route_class=JsonRoute)

RecordId = Annotated[str, Path(pattern="^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")]
TIME_PATTERN = r"^\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)$"


def _in_utc(text: str) -> str:
    """The first whole second that is not before a time: records are kept by the second."""
    time = datetime.fromisoformat(text.upper())
    try:
        time = time.astimezone(UTC) + timedelta(microseconds=-time.microsecond % 1_000_000)
    except OverflowError:  # within a day of the first or the last year that a calendar has
        time = time.replace(tzinfo=UTC)
    return time.strftime("%Y-%m-%dT%H:%M:%SZ").rjust(20, "0")


Time = Annotated[
    str,
    Field(pattern=TIME_PATTERN, json_schema_extra={"format": "date-time"}, description="A time by RFC 3339."),
    AfterValidator(_in_utc),
]


class RecordQuery(PageQuery):
    vehicle: Slug | None = None
    axle: End | None = None
    sku: Sku | None = None
    verdict: VerdictWord | None = None
    since: Time | None = Field(default=None, description="From this time on.")
    until: Time | None = Field(default=None, description="Before this time.")


@router.post(
    "",
    status_code=201,
    responses=answers(
        {
            201: good(VerdictRecord, "The verdict, kept in the ledger.", "Location"),
            200: good(VerdictRecord, 'The verdict, not kept: the request says `"record": false`.'),
        },
        *TAKES_BODY,
    ),
)
async def evaluate_combination(request: Request, question: EvaluationRequest) -> Response:
    """Evaluate one combination of parts on one axle. An unsafe combination is a verdict, not an error."""
    asked = question.model_dump(exclude_none=True)
    keep = asked.pop("record")
    decided = await decide(service_of(request), asked, keep=keep)
    headers = {"Location": f"/v1/evaluations/{decided.record_id}"} if keep else {}
    return Response(decided.body, 201 if keep else 200, headers, "application/json")


@router.get("", responses=answers({200: good(RecordItems, "A page of records, newest first.", "Link")}, 422, 503))
def list_evaluations(request: Request, query: Annotated[RecordQuery, Query()]) -> Response:
    """The records of the ledger."""
    wanted = RecordFilter(query.vehicle, query.axle, query.sku, query.verdict, query.since, query.until)
    with service_of(request).database.reading() as connection:
        items, more = records(connection, wanted, query.after(), query.limit)
    return page_response(request, items, items[-1]["id"] if more else None)


@router.get(
    "/{evaluation_id}",
    responses=answers({200: good(VerdictRecord, "The record.", "ETag"), 304: NOT_MODIFIED}, *READS),
)
def read_evaluation(request: Request, evaluation_id: RecordId, if_none_match: IfNoneMatch = None) -> Response:
    """One record, byte for byte as it was answered."""
    tag = f'"{evaluation_id}"'
    with service_of(request).database.reading() as connection:
        body = record_body(connection, evaluation_id)
    if is_known(if_none_match, tag):
        return Response(status_code=304, headers={"ETag": tag})
    return Response(body, 200, {"ETag": tag}, "application/json")
