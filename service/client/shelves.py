"""Vehicles, parts and axles as calls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, Literal, TypeVar
from urllib.parse import quote

from service.client import answers, calls
from service.client.answers import Held, Page
from service.client.bodies import AxleEnvelope, CataloguedPart, StoredAxle, StoredPart, StoredVehicle, Vehicle
from service.client.calls import Call, Query

New = TypeVar("New")
Stored = TypeVar("Stored")
End = Literal["front", "rear"]


@dataclass(frozen=True, slots=True)
class ShelfCalls(Generic[New, Stored]):
    """What vehicles and parts have in common; each is named in the address."""

    path: str

    def of(self, name: str, *below: str) -> str:
        return "/".join([self.path, quote(name, safe=""), *below])

    def page(self, query: Query) -> Call[Page[Stored]]:
        return calls.get(self.path, answers.stored, query)

    def read(self, name: str) -> Call[Held[Stored]]:
        return calls.get(self.of(name), answers.held)

    def add(self, body: New) -> Call[Held[Stored]]:
        return calls.post(self.path, answers.held, body)

    def change(self, name: str, body: New | Stored, etag: str) -> Call[Held[Stored]]:
        return calls.put(self.of(name), answers.held, body, etag)

    def withdraw(self, name: str, etag: str) -> Call[None]:
        return calls.delete(self.of(name), etag)

    def revisions(self, name: str, query: Query) -> Call[Page[Stored]]:
        return calls.get(self.of(name, "revisions"), answers.stored, query)

    def revision(self, name: str, revision: int) -> Call[Held[Stored]]:
        return calls.get(self.of(name, "revisions", str(revision)), answers.held)


PARTS: ShelfCalls[CataloguedPart, StoredPart] = ShelfCalls("/v1/parts")
VEHICLES: ShelfCalls[Vehicle, StoredVehicle] = ShelfCalls("/v1/vehicles")


@dataclass(frozen=True, slots=True)
class AxleCalls:
    """The axles of vehicles, by vehicle and end."""

    def of(self, vehicle: str, end: End, *below: str) -> str:
        return VEHICLES.of(vehicle, "axles", end, *below)

    def read(self, vehicle: str, end: End) -> Call[Held[StoredAxle]]:
        return calls.get(self.of(vehicle, end), answers.held)

    def put(self, vehicle: str, end: End, body: AxleEnvelope | StoredAxle, etag: str | None) -> Call[Held[StoredAxle]]:
        return calls.put(self.of(vehicle, end), answers.held, body, etag)

    def revisions(self, vehicle: str, end: End, query: Query) -> Call[Page[StoredAxle]]:
        return calls.get(self.of(vehicle, end, "revisions"), answers.stored, query)

    def revision(self, vehicle: str, end: End, revision: int) -> Call[Held[StoredAxle]]:
        return calls.get(self.of(vehicle, end, "revisions", str(revision)), answers.held)


AXLES = AxleCalls()
