"""What vehicles, axles and parts have in common over HTTP: entity tags, revisions, withdrawal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy import Connection
from starlette.requests import Request
from starlette.responses import Response

from service.api.body import ParameterError
from service.api.conditions import entity_tag, is_known, require_match
from service.api.once import keep_response
from service.api.paging import PageQuery, page_response
from service.catalogue import listing, revisions
from service.catalogue.revisions import ACTIVE, Key, Shelf, Stored
from service.database import canonical
from service.web import service_of

Body = dict[str, Any]
Check = Callable[[Connection, Key, Body], None]


def shown(stored: Stored) -> Body:
    """A vehicle or part as it is answered."""
    return {
        **stored.body,
        "revision": stored.revision,
        "created_at": stored.created_at,
        "revised_at": stored.revised_at,
    }


@dataclass(frozen=True, slots=True)
class Door:
    """A shelf as seen from outside. ``check`` raises on a body that cannot be kept; ``searched`` are head columns.

    ``owners``: the shelf of what a thing belongs to, and is withdrawn with.
    """

    shelf: Shelf
    check: Check
    searched: tuple[str, ...] = ()
    show: Callable[[Stored], Body] = field(default=shown)
    owners: Shelf | None = None

    def add(self, request: Request, key: Key, body: Body, location: str) -> Response:
        with service_of(request).database.writing() as connection:
            self.check(connection, key, body)
            stored = revisions.create(connection, self.shelf, key, body, self._heads(body))
            response = self._answer(stored, 201, {"Location": location})
            keep_response(request, connection, response)
        return response

    def change(self, request: Request, key: Key, body: Body, if_match: str | None) -> Response:
        with service_of(request).database.writing() as connection:
            before = self._current(connection, key)
            require_match(if_match, before, self._tag(before))
            self.check(connection, key, body)
            stored = revisions.revise(connection, self.shelf, before, body, self._heads(body))
        return self._answer(stored, 200)

    def withdraw(self, request: Request, key: Key, if_match: str | None) -> Response:
        with service_of(request).database.writing() as connection:
            before = self._current(connection, key)
            require_match(if_match, before, self._tag(before))
            stored = revisions.withdraw(connection, self.shelf, before)
        return Response(status_code=204, headers={"ETag": self._tag(stored)})

    def read(self, request: Request, key: Key, if_none_match: str | None, revision: int | None = None) -> Response:
        with service_of(request).database.reading() as connection:
            if revision is None:
                stored = self._current(connection, key)
            else:
                stored = revisions.at_revision(connection, self.shelf, key, revision)
        tag = self._tag(stored)
        if is_known(if_none_match, tag):
            return Response(status_code=304, headers={"ETag": tag})
        return self._answer(stored, 200)

    def history(self, request: Request, key: Key, query: PageQuery) -> Response:
        with service_of(request).database.reading() as connection:
            page = listing.history(connection, self.shelf, key, _number(query.after()), query.limit)
        items = [self.show(stored) for stored in page.items]
        return page_response(request, items, str(page.items[-1].revision) if page.more else None)

    def _current(self, connection: Connection, key: Key) -> Stored:
        """The thing as it is now, with the status of what it belongs to."""
        stored = revisions.current(connection, self.shelf, key)
        if self.owners is None:
            return stored
        owner = revisions.current(connection, self.owners, key[: len(self.owners.key)])
        return replace(stored, status=owner.status)

    def _tag(self, stored: Stored) -> str:
        """The tag of its revision, and of the status if that is no part of the revision."""
        is_withdrawn_with_owner = self.owners is not None and stored.status != ACTIVE
        return entity_tag(stored.revision, stored.status if is_withdrawn_with_owner else "")

    def _heads(self, body: Body) -> Mapping[str, str]:
        return {name: body[name] for name in self.searched}

    def _answer(self, stored: Stored, status: int, headers: Mapping[str, str] | None = None) -> Response:
        tagged = {"ETag": self._tag(stored), **(headers or {})}
        return Response(canonical(self.show(stored)), status, tagged, "application/json")


def _number(after: str | None) -> int | None:
    if after is None:
        return None
    if not after.isascii() or not after.isdigit() or len(after) > 9:  # more would not fit a database's integer
        raise ParameterError("cursor", "is none that this listing gave: begin without one")
    return int(after)
