"""The client that waits for each answer."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from typing import Literal, Self, TypeVar

import httpx

from service.client import calls, searching
from service.client.blocking_shelves import Axles, Shelf, every
from service.client.bodies import (
    CataloguedPart,
    EvaluationRequest,
    ImportReport,
    RecordSummary,
    Search,
    SearchRequest,
    ShelfFits,
    StoredPart,
    StoredVehicle,
    Vehicle,
    VerdictRecord,
)
from service.client.calls import Call
from service.client.connection import TIMEOUT_S, arguments, failure
from service.client.patience import PATIENT, Patience
from service.client.problems import ProblemError
from service.client.shelves import PARTS, VEHICLES

T = TypeVar("T")


class Client:
    """One service. Threads may share it. Leave it by ``with`` or close it.

    What the service refuses is raised as a ``ProblemError`` of its own class; where no answer comes it is an
    ``UnreachableError``, and where something else answers an ``UnexpectedAnswerError``.
    """

    def __init__(
        self,
        address: str,
        key: str | None = None,
        *,
        timeout_s: float = TIMEOUT_S,
        patience: Patience = PATIENT,
        transport: httpx.BaseTransport | None = None,
    ) -> None:
        self._http = httpx.Client(**arguments(address, key, timeout_s), transport=transport)
        self._patience = patience
        self.parts: Shelf[CataloguedPart, StoredPart] = Shelf(PARTS, self.send)
        self.vehicles: Shelf[Vehicle, StoredVehicle] = Shelf(VEHICLES, self.send)
        self.axles = Axles(self.send)

    def evaluate(self, request: EvaluationRequest) -> VerdictRecord:
        """The verdict on one combination. Unsafe is a verdict, not an error; only the action ``sell`` may be sold."""
        return self.send(calls.evaluate(request))

    def evaluate_batch(self, requests: Sequence[EvaluationRequest]) -> list[VerdictRecord | ProblemError]:
        """For each of up to 1000 requests, in their order, its verdict or its problem, which is not raised."""
        return self.send(calls.evaluate_batch(requests))

    def evaluation(self, record_id: str) -> VerdictRecord:
        """A record as it was answered."""
        return self.send(calls.evaluation(record_id))

    def evaluations(self, **wanted: str) -> Iterator[RecordSummary]:
        """Records, newest first, by ``vehicle``, ``axle``, ``sku``, ``verdict``, ``since`` and ``until``."""
        return every(self.send, calls.evaluations, wanted)

    def search(self, request: SearchRequest) -> Search:
        """Every clear combination of catalogued parts, best first, and the near misses; when the search has ended.

        ``items`` holds all of them, whatever ``limit`` the request states. A search that was interrupted is a
        ``ProblemError``.
        """
        steps, answer = searching.steps(request), None
        while True:
            try:
                step = steps.send(answer)
            except StopIteration as ended:
                found: Search = ended.value
                return found
            answer = None
            if isinstance(step, float):
                time.sleep(step)
            else:
                answer = self.send(step)

    def fits(self, vehicle: str, end: Literal["front", "rear"], kind: str | None = None) -> ShelfFits:
        """Which parts on sale may be sold for an axle, each alone; of one kind, or of all."""
        return self.send(calls.fits(vehicle, end, kind))

    def import_file(
        self, content: bytes, form: Literal["csv", "jsonl"], kind: str | None = None, *, dry_run: bool = False
    ) -> ImportReport:
        """Bring a file into the catalogue, wholly or not at all; a dry run reports every bad row."""
        return self.send(calls.import_file(content, form, kind, dry_run=dry_run))

    def export_file(self, form: Literal["csv", "jsonl"], kind: str | None = None) -> bytes:
        """The catalogue, or the parts of one kind, in the form that ``import_file`` takes."""
        return self.send(calls.export_file(form, kind))

    def send(self, call: Call[T]) -> T:
        """Send a call, again where that is safe and of use, and read its answer."""
        attempt = 1
        while True:
            try:
                answer = self._http.request(**call.arguments())
            except httpx.RequestError as error:
                wait_s = self._patience.after_failure(call, attempt, error)
                if wait_s is None:
                    raise failure(call, error) from error
            else:
                wait_s = self._patience.after_answer(answer, attempt)
                if wait_s is None:
                    return call.result(answer)
            time.sleep(wait_s)
            attempt += 1

    def close(self) -> None:
        self._http.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
