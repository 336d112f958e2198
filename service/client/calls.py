"""Each operation of the service as a call: what to send, whether it may be sent twice, and how to read the answer."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Generic, TypeVar
from urllib.parse import quote

import httpx

from service.client import answers
from service.client.answers import Page
from service.client.bodies import EvaluationRequest, ImportReport, RecordSummary, ShelfFits, VerdictRecord
from service.client.problems import NOT_OURS, ProblemError, UnexpectedAnswerError, answered_problem

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
        """What an answer holds. Raises the problem that it is instead, or what says that it is none of the service."""
        if not answer.is_success:
            raise answered_problem(answer)
        try:
            return self.read(answer)
        except NOT_OURS as error:
            what = f"{answer.status_code} from {answer.url}, and no answer of this service"
            raise UnexpectedAnswerError(f"{what} ({type(error).__name__}: {error})") from error

    def arguments(self) -> dict[str, Any]:
        """The arguments of httpx's ``request``."""
        query = {name: value for name, value in self.query.items() if value is not None}
        content = {"content": self.content} if self.content is not None else {}
        json = {} if self.body is None else {"json": self.body}
        return {"method": self.method, "url": self.path, "params": query, "headers": self.headers, **content, **json}


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
    return Call("DELETE", path, answers.nothing, headers={"If-Match": etag}, repeatable=False)


def once() -> dict[str, str]:
    return {"Idempotency-Key": f'"{uuid.uuid4()}"'}


def evaluate(request: EvaluationRequest) -> Call[VerdictRecord]:
    return post("/v1/evaluations", answers.record, request)


def evaluation(record_id: str) -> Call[VerdictRecord]:
    return get(f"/v1/evaluations/{quote(record_id, safe='')}", answers.record)


def evaluations(query: Query) -> Call[Page[RecordSummary]]:
    return get("/v1/evaluations", answers.summaries, query)


def evaluate_batch(requests: Sequence[EvaluationRequest]) -> Call[list[VerdictRecord | ProblemError]]:
    asked = list(requests)
    return post("/v1/evaluations/batch", partial(answers.results, asked=len(asked)), {"requests": asked})


def fits(vehicle: str, end: str, kind: str | None) -> Call[ShelfFits]:
    return get(f"/v1/vehicles/{quote(vehicle, safe='')}/axles/{end}/fits", answers.fits, {"kind": kind})


def import_file(content: bytes, form: str, kind: str | None, *, dry_run: bool) -> Call[ImportReport]:
    query = {"format": form, "kind": kind, "dry_run": dry_run}
    headers = {"Content-Type": answers.MEDIA_TYPES[_known(form)], **once()}
    return Call("POST", "/v1/imports", answers.report, query, content=content, headers=headers)


def export_file(form: str, kind: str | None) -> Call[bytes]:
    return get("/v1/exports", partial(answers.file, form=_known(form)), {"format": form, "kind": kind})


def _known(form: str) -> str:
    if form not in answers.MEDIA_TYPES:
        raise ValueError(f"form {form!r}: expected {' or '.join(answers.MEDIA_TYPES)}")
    return form
