"""A search as the calls that it takes: begin it, ask until it has ended, read what it found page by page."""

from __future__ import annotations

from collections.abc import Generator
from urllib.parse import quote

from service.client import answers
from service.client.bodies import Search, SearchRequest
from service.client.calls import Call, Query, get, once
from service.client.problems import problem

WAIT_S = 10
"""How long the service is asked to wait before it answers: well within the time-outs of connections."""
ASK_AGAIN_S = 1.0
PAGE = 200

Pause = float
Steps = Generator[Call[Search] | Pause, Search | None, Search]
"""Yields calls, whose answers are sent in, and seconds to pause, after which nothing is; returns the whole search."""


def begin(request: SearchRequest) -> Call[Search]:
    headers = {"Prefer": f"wait={WAIT_S}", **once()}
    return Call("POST", "/v1/searches", answers.search, body={**request, "limit": PAGE}, headers=headers)


def read(search_id: str, query: Query) -> Call[Search]:
    return get(f"/v1/searches/{quote(search_id, safe='')}", answers.search, {"limit": PAGE, **query})


def steps(request: SearchRequest) -> Steps:
    """All of a search, with every combination among its ``items``. Raises the problem that it ended in."""
    found = yield begin(request)
    while found is not None and found["status"] == "running":
        yield ASK_AGAIN_S
        found = yield read(found["id"], {})
    assert found is not None  # noqa: S101 — calls are answered
    if found["problem"] is not None:
        raise problem(found["problem"])
    while found["next"] is not None:
        page = yield read(found["id"], {"cursor": found["next"]})
        assert page is not None  # noqa: S101 — the same
        found = {**found, "items": [*found["items"], *page["items"]], "next": page["next"]}
    return found
