"""Each operation of the service as a call: what to send, whether it may be sent twice, and how to read the answer."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar
from urllib.parse import quote

import httpx

from service.client.bodies import EvaluationRequest, ImportReport, RecordSummary, ShelfFits, VerdictRecord
from service.client.problems import ProblemError, answered_problem, problem

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
Query = Mapping[str, str | int | bool | None]


@dataclass(frozen=True, slots=True)
class Call(Generic[T_co]):
    """``repeatable``: sending it twice does no more than sending it once, even where the first answer was lost."""

    method: str
    path: str
    read: Callable[[httpx.Response], T_co]
    query: Query = field(default_factory=dict)
    body: Any = None
    content: bytes | None = None
    headers: Mapping[str, str] = field(default_factory=dict)
    repeatable: bool = True

    def result(self, answer: httpx.Response) -> T_co:
        """What an answer holds. Raises the problem that it is instead."""
        if not answer.is_success:
            raise answered_problem(answer)
        return self.read(answer)

    def arguments(self) -> dict[str, Any]:
        """The arguments of httpx's ``request``."""
        query = {name: value for name, value in self.query.items() if value is not None}
        content = {"content": self.content} if self.content is not None else {}
        json = {} if self.body is None else {"json": self.body}
        return {"method": self.method, "url": self.path, "params": query, "headers": self.headers, **content, **json}


@dataclass(frozen=True, slots=True)
class Held(Generic[T]):
    """A thing of the catalogue as it was read; a change of it sends ``etag`` along."""

    body: T
    etag: str


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    items: list[T]
    next: str | None


def get(path: str, read: Callable[[httpx.Response], T], query: Query | None = None) -> Call[T]:
    return Call("GET", path, read, query or {})


def post(path: str, read: Callable[[httpx.Response], T], body: Any) -> Call[T]:
    """A POST under a key of its own: however often it is sent, it is done once."""
    return Call("POST", path, read, body=body, headers=once())


def put(path: str, read: Callable[[httpx.Response], T], body: Any, etag: str | None) -> Call[T]:
    """Not to be repeated blindly: where the first answer was lost, the second would find its own change in the way."""
    headers = {} if etag is None else {"If-Match": etag}
    return Call("PUT", path, read, body=body, headers=headers, repeatable=False)


def delete(path: str, etag: str) -> Call[None]:
    return Call("DELETE", path, lambda _: None, headers={"If-Match": etag}, repeatable=False)


def once() -> dict[str, str]:
    return {"Idempotency-Key": f'"{uuid.uuid4()}"'}


def json(answer: httpx.Response) -> Any:
    return answer.json()


def held(answer: httpx.Response) -> Held[Any]:
    return Held(answer.json(), answer.headers["etag"])


def page(answer: httpx.Response) -> Page[Any]:
    body = answer.json()
    return Page(body["items"], body["next"])


def evaluate(request: EvaluationRequest) -> Call[VerdictRecord]:
    return post("/v1/evaluations", json, request)


def evaluation(record_id: str) -> Call[VerdictRecord]:
    return get(f"/v1/evaluations/{quote(record_id, safe='')}", json)


def evaluations(query: Query) -> Call[Page[RecordSummary]]:
    return get("/v1/evaluations", page, query)


def evaluate_batch(requests: Sequence[EvaluationRequest]) -> Call[list[VerdictRecord | ProblemError]]:
    return post("/v1/evaluations/batch", _results, {"requests": list(requests)})


def fits(vehicle: str, end: str, kind: str | None) -> Call[ShelfFits]:
    return get(f"/v1/vehicles/{quote(vehicle, safe='')}/axles/{end}/fits", json, {"kind": kind})


def import_file(content: bytes, form: str, kind: str | None, *, dry_run: bool) -> Call[ImportReport]:
    query = {"format": form, "kind": kind, "dry_run": dry_run}
    media_type = {"csv": "text/csv", "jsonl": "application/jsonl"}[form]
    headers = {"Content-Type": media_type, **once()}
    return Call("POST", "/v1/imports", json, query, content=content, headers=headers)


def export_file(form: str, kind: str | None) -> Call[bytes]:
    return get("/v1/exports", lambda answer: answer.content, {"format": form, "kind": kind})


def _results(answer: httpx.Response) -> list[VerdictRecord | ProblemError]:
    return [each if "verdict" in each else problem(each) for each in answer.json()["results"]]
