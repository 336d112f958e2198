"""What the service says when it does not do what was asked: one class a sort of problem, by RFC 9457."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import httpx

NOT_OURS = (ValueError, LookupError, TypeError, AttributeError, RecursionError)
"""What comes of reading an answer of somebody else as one of this service."""


class CoilgapError(Exception):
    """Whatever this client raises."""


class UnreachableError(CoilgapError):
    """No answer came: the service, or the way to it, is down. What was asked may have been done all the same."""


class UnexpectedAnswerError(CoilgapError):
    """An answer that is none of this service: something else sits at the address."""


@dataclass(frozen=True, slots=True)
class ProblemFault:
    """One thing that is wrong: in the body (``pointer``), in the query or a header (``parameter``), or in a row."""

    detail: str
    pointer: str | None = None
    parameter: str | None = None
    file: str | None = None
    line: int | None = None
    column: str | None = None


class ProblemError(CoilgapError):
    """A problem. ``request_id`` finds it in the service's log; ``retry_after_s`` says when to try again."""

    kind: ClassVar[str] = ""

    def __init__(self, body: Mapping[str, Any], headers: Mapping[str, str]) -> None:
        self.status: int = body["status"]
        self.title: str = body["title"]
        self.detail: str = body["detail"]
        self.type: str = body["type"]
        self.instance: str = body["instance"]
        self.faults = tuple(_fault(each) for each in body.get("errors") or ())
        self.request_id = headers.get("x-request-id")
        self.retry_after_s = _seconds(headers.get("retry-after"))
        super().__init__(f"{self.status} {self.title}: {self.detail}")


class MalformedBodyError(ProblemError):
    kind = "malformed-body"


class MalformedIdempotencyKeyError(ProblemError):
    kind = "idempotency-key-malformed"


class KeyNeededError(ProblemError):
    """The key is missing, false, revoked or expired."""

    kind = "key-needed"


class ScopeMissingError(ProblemError):
    kind = "scope-missing"


class HostUnknownError(ProblemError):
    """A service without keys, asked for under a name that is not its machine's own."""

    kind = "host-unknown"


class NotFoundError(ProblemError):
    kind = "not-found"


class MethodError(ProblemError):
    kind = "method-not-allowed"


class ConflictError(ProblemError):
    """The name is taken, or belongs to something withdrawn."""

    kind = "conflict"


class StaleRevisionError(ProblemError):
    """Somebody else was quicker: read again, then repeat the change."""

    kind = "stale-revision"


class TooLargeError(ProblemError):
    kind = "body-too-large"


class MediaTypeError(ProblemError):
    kind = "unsupported-media-type"


class NotValidError(ProblemError):
    """``faults`` says what is wrong, and where."""

    kind = "not-valid"


class ReusedIdempotencyKeyError(ProblemError):
    kind = "idempotency-key-reused"


class IfMatchMissingError(ProblemError):
    kind = "if-match-missing"


class TooManyRequestsError(ProblemError):
    kind = "too-many-requests"


class ServerFaultError(ProblemError):
    kind = "server-fault"


class DatabaseAwayError(ProblemError):
    kind = "database-away"


class SearchesBusyError(ProblemError):
    """Too many searches wait already: ask again later."""

    kind = "searches-busy"


class SearchInterruptedError(ProblemError):
    """The service was started anew in the middle of the search: ask again."""

    kind = "search-interrupted"


class ServiceEndingError(ProblemError):
    """The service was stopped before it was done: ask again, a POST under the same idempotency key."""

    kind = "service-ending"


PROBLEMS = {problem.kind: problem for problem in ProblemError.__subclasses__()}


def problem(body: Mapping[str, Any], headers: Mapping[str, str] | None = None) -> ProblemError:
    """The error that a problem's body stands for; a sort that this client does not know is a plain ``ProblemError``."""
    kind = str(body["type"]).rsplit("/", 1)[-1]
    return PROBLEMS.get(kind, ProblemError)(body, headers or {})


def answered_problem(answer: httpx.Response) -> CoilgapError:
    """The error that an answer of status 400 or above stands for."""
    try:
        return problem(answer.json(), answer.headers)
    except NOT_OURS:
        return UnexpectedAnswerError(f"{answer.status_code} from {answer.url}, and no problem of this service")


def _fault(each: Mapping[str, Any]) -> ProblemFault:
    known = ("detail", "pointer", "parameter", "file", "line", "column")
    return ProblemFault(**{name: each[name] for name in known if name in each})


def _seconds(text: str | None) -> float | None:
    return float(text) if text and text.isascii() and text.isdigit() else None
