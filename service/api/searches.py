"""Searches: which combinations of catalogued parts would be clear. What takes long is asked for again."""

from __future__ import annotations

import asyncio
from concurrent.futures import Future
from functools import partial
from typing import Annotated, Any

import orjson
from fastapi import APIRouter, Path, Query
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from service.api.answers import READS, TAKES_BODY, answers, good
from service.api.body import JsonRoute, ParameterError
from service.api.once import attempt_of, keep_response, renew_response
from service.api.paging import PageQuery, write_cursor
from service.api.prefer import waiting
from service.api.problems import problem_of
from service.api.schemas.search import Search, SearchRequest
from service.judging.searching import Asked, parts_of, prepare, question_of
from service.searches.kept import DONE, FAILED, RUNNING, KeptSearch, SearchInterruptedError, find
from service.web import Service, new_id, service_of

router = APIRouter(prefix="/v1/searches", tags=["searches"], route_class=JsonRoute)

WAIT_S, MOST_WAIT_S = 2.0, 30
ASK_AGAIN_S = 1
APPLIED = "Preference-Applied"

SearchId = Annotated[str, Path(pattern="^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")]
PREFER = {
    "name": "Prefer",
    "in": "header",
    "required": False,
    "description": (
        f"`wait=10`: how many seconds to wait for the end of the search, {WAIT_S:g} where nothing is said, "
        f"{MOST_WAIT_S} at most; `respond-async`: do not wait (RFC 7240). `Preference-Applied` tells what is granted."
    ),
    "schema": {"type": "string"},
    "example": "wait=10",
}


class SearchPage(PageQuery):
    def after_rank(self) -> int:
        """The rank that the page begins after."""
        after = self.after()
        if after is None:
            return 0
        if not after.isascii() or not after.isdigit() or len(after) > 6:
            raise ParameterError("cursor", "is none that this listing gave: begin without one")
        return int(after)


ANSWERS = answers(
    {
        201: good(Search, "The search has ended; the first page of what it found.", "Location", "Link", APPLIED),
        202: good(Search, "The search goes on: ask for it at its `Location`.", "Location", "Retry-After", APPLIED),
    },
    *TAKES_BODY,
)
ANSWERS[503]["description"] = "The database cannot be reached, or too many searches wait already."


@router.post(
    "",
    status_code=201,
    responses=ANSWERS,
    openapi_extra={"parameters": [PREFER]},
)
async def search_combinations(request: Request, search: SearchRequest) -> Response:
    """Find every combination of catalogued parts that is clear on one axle, best first, and what comes nearest.

    Searches are done one after the other beside everything else, and kept for 24 hours. One that is not done in time is
    answered with 202, and found at its `Location` from then on. Where too many wait already the answer is 503.
    """
    asked = search.model_dump(exclude_none=True)
    first = SearchPage(limit=asked.pop("limit"))
    wait = waiting(request.headers.getlist("prefer"), WAIT_S, MOST_WAIT_S)
    search_id = new_id()
    ended = await run_in_threadpool(_begin, request, search_id, asked, first)
    await _wait(ended, wait.seconds)
    answer = _begun(await run_in_threadpool(_found, service_of(request), search_id), first)
    if wait.applied is not None:
        answer.headers[APPLIED] = wait.applied
    if answer.status_code == 201:
        await run_in_threadpool(renew_response, request, answer)
    return answer


@router.get(
    "/{search_id}",
    responses=answers(
        {200: good(Search, "The search, and a page of what it found.", "Link", "Retry-After")}, 422, *READS
    ),
)
def read_search(request: Request, search_id: SearchId, query: Annotated[SearchPage, Query()]) -> Response:
    """How far a search is, and when it is done, what it found, page by page."""
    return _page(_found(service_of(request), search_id), query, 200)


def _begin(request: Request, search_id: str, asked: Asked, first: SearchPage) -> Future[None]:
    service = service_of(request)
    prepared = prepare(service.database, service.references, asked)

    def along(connection: Connection) -> None:
        """Whoever sends the same again, after this process has died, is shown where to look."""
        if attempt_of(request) is not None:
            keep_response(request, connection, _begun(find(connection, search_id), first))

    return service.searches.begin(search_id, asked, prepared, along)


async def _wait(ended: Future[None], seconds: float) -> None:
    wrapped = asyncio.wrap_future(ended)
    try:
        await asyncio.wait([wrapped], timeout=seconds)
    finally:
        wrapped.cancel()  # the wrapper alone: the search goes on


def _found(service: Service, search_id: str) -> KeptSearch:
    here = service.searches.progress(search_id)  # asked first: what has left memory is in the database
    with service.database.reading() as connection:
        return find(connection, search_id, here)


def _begun(search: KeptSearch, page: SearchPage) -> Response:
    answer = _page(search, page, 202 if search.status == RUNNING else 201)
    answer.headers["Location"] = _address(search)
    return answer


def _page(search: KeptSearch, page: SearchPage, status: int) -> Response:
    """A page, with the link to the next one, or with when to ask again."""
    body, headers = _shown(search, page.after_rank(), page.limit), {}
    if body["next"] is not None:
        headers["Link"] = f'<{_address(search)}?limit={page.limit}&cursor={body["next"]}>; rel="next"'
    if search.status == RUNNING:
        headers["Retry-After"] = str(ASK_AGAIN_S)
    return Response(orjson.dumps(body), status, headers, "application/json")


def _address(search: KeptSearch) -> str:
    return f"/v1/searches/{search.search_id}"


def _shown(search: KeptSearch, after: int, limit: int) -> dict[str, Any]:
    found = search.found if search.status == DONE and search.found is not None else {}
    clear, last = found.get("clear", []), after + limit
    shown = partial(_shown_combination, search.request)
    return {
        "id": search.search_id,
        "status": search.status,
        "progress": dict(zip(("done", "of"), search.progress, strict=True)),
        "asked_at": search.asked_at,
        "expires_at": search.expires_at,
        "counts": found.get("counts"),
        "catalogue": search.catalogue,
        "items": [shown(rank, each) for rank, each in enumerate(clear[after:last], after + 1)],
        "next": write_cursor(str(last)) if last < len(clear) else None,
        "near_misses": [shown(rank, each) for rank, each in enumerate(found.get("near_misses", []), 1)],
        "problem": problem_of(_failure(search), _address(search)) if search.status == FAILED else None,
    }


def _failure(search: KeptSearch) -> Exception:
    return SearchInterruptedError() if search.failure == "interrupted" else Exception()


def _shown_combination(asked: Asked, rank: int, candidate: dict[str, Any]) -> dict[str, Any]:
    left_out = ("chosen", "asks_lift")
    told = {name: value for name, value in candidate.items() if name not in left_out}
    return {"rank": rank, "parts": parts_of(asked, candidate), **told, "question": question_of(asked, candidate)}
