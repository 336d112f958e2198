"""Listings page by page: limit, cursor, and the link to the next page."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from typing import Annotated, Any

import orjson
from pydantic import BaseModel, ConfigDict, Field
from starlette.requests import Request
from starlette.responses import Response

from service.api.body import ParameterError


class PageQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    limit: Annotated[int, Field(ge=1, le=200)] = 50
    cursor: Annotated[str, Field(max_length=400)] | None = Field(
        default=None, description="`next` of the page before, as it was given."
    )

    def after(self) -> str | None:
        """The name that the page begins after."""
        return None if self.cursor is None else read_cursor(self.cursor)


def write_cursor(last: str) -> str:
    """An opaque cursor for the page after ``last``.

    >>> read_cursor(write_cursor("KES-1"))
    'KES-1'
    """
    return urlsafe_b64encode(b"1:" + last.encode()).decode().rstrip("=")


def read_cursor(cursor: str) -> str:
    try:
        text = urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode()
    except ValueError:
        text = ""
    if not text.startswith("1:") or not text.isprintable():
        raise ParameterError("cursor", "is none that this listing gave: begin without one")
    return text.removeprefix("1:")


def page_response(request: Request, items: list[dict[str, Any]], last: str | None) -> Response:
    """A page; ``last`` is the name of its last item if more follow it."""
    cursor = None if last is None else write_cursor(last)
    headers = {}
    if cursor is not None:
        address = request.url.include_query_params(cursor=cursor)
        headers["Link"] = f'<{address.path}?{address.query}>; rel="next"'
    return Response(orjson.dumps({"items": items, "next": cursor}), 200, headers, "application/json")
