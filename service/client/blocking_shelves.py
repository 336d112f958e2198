"""Vehicles, parts and axles for the client that waits for each answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Generic, Protocol, TypeVar

from service.client.answers import Held, Page
from service.client.bodies import AxleEnvelope, StoredAxle
from service.client.calls import Call, Query
from service.client.shelves import AXLES, End, New, ShelfCalls, Stored

T = TypeVar("T")


class Send(Protocol):
    def __call__(self, call: Call[T], /) -> T: ...


def every(send: Send, page: Callable[[Query], Call[Page[T]]], wanted: Query) -> Iterator[T]:
    """The items of a listing, page after page."""
    cursor: str | None = None
    while True:
        found = send(page({**wanted, "cursor": cursor}))
        yield from found.items
        cursor = found.next
        if cursor is None:
            return


class Shelf(Generic[New, Stored]):
    """The vehicles or the parts of the catalogue."""

    def __init__(self, shelf: ShelfCalls[New, Stored], send: Send) -> None:
        self._shelf, self._send = shelf, send

    def every(self, **wanted: str) -> Iterator[Stored]:
        """All of them, by name, or what a listing's filters leave: ``status``, and for parts ``kind`` and so on."""
        return every(self._send, self._shelf.page, wanted)

    def read(self, name: str) -> Held[Stored]:
        return self._send(self._shelf.read(name))

    def add(self, body: New) -> Held[Stored]:
        return self._send(self._shelf.add(body))

    def change(self, name: str, body: New | Stored, etag: str) -> Held[Stored]:
        """Put a new revision in force; ``etag`` is that of the revision it was made from."""
        return self._send(self._shelf.change(name, body, etag))

    def withdraw(self, name: str, etag: str) -> None:
        self._send(self._shelf.withdraw(name, etag))

    def revisions(self, name: str) -> Iterator[Stored]:
        """Every revision, newest first."""
        return every(self._send, lambda query: self._shelf.revisions(name, query), {})

    def revision(self, name: str, revision: int) -> Held[Stored]:
        return self._send(self._shelf.revision(name, revision))


class Axles:
    """The axles of vehicles, by vehicle and end."""

    def __init__(self, send: Send) -> None:
        self._send = send

    def read(self, vehicle: str, end: End) -> Held[StoredAxle]:
        return self._send(AXLES.read(vehicle, end))

    def put(self, vehicle: str, end: End, body: AxleEnvelope | StoredAxle, etag: str | None = None) -> Held[StoredAxle]:
        """Put measurements in force. ``etag`` is that of the revision before, if there is one."""
        return self._send(AXLES.put(vehicle, end, body, etag))

    def revisions(self, vehicle: str, end: End) -> Iterator[StoredAxle]:
        """Every revision, newest first."""
        return every(self._send, lambda query: AXLES.revisions(vehicle, end, query), {})

    def revision(self, vehicle: str, end: End, revision: int) -> Held[StoredAxle]:
        return self._send(AXLES.revision(vehicle, end, revision))
