"""Errors: one shape, and one table from exception to answer."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

import orjson
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import Scope

from service.api.accepts import preferred_type
from service.api.body import BodyTooLargeError, MalformedBodyError, MediaTypeError, ParameterError
from service.api.conditions import IfMatchMissingError
from service.api.hosts import HostMalformedError, HostUnknownError
from service.api.idempotency_key import IdempotencyKeyError, IdempotencyKeyReusedError
from service.api.interchange.rows import BadRowsError
from service.api.problem_kinds import (
    CONFLICT,
    DATABASE_AWAY,
    HOST_UNKNOWN,
    IDEMPOTENCY_KEY_MALFORMED,
    IDEMPOTENCY_KEY_REUSED,
    IF_MATCH_MISSING,
    KEY_NEEDED,
    MALFORMED,
    MEDIA_TYPE_UNKNOWN,
    NOT_FOUND,
    NOT_VALID,
    SCOPE_MISSING,
    SEARCH_INTERRUPTED,
    SEARCHES_BUSY,
    SERVER_FAULT,
    SERVICE_ENDING,
    STALE,
    TOO_LARGE,
    TOO_MANY,
    WRONG_METHOD,
    ProblemKind,
)
from service.api.rate_limits import TooManyRequestsError
from service.api.scopes import KeyMissingError, KeyUnknownError, ScopeMissingError
from service.api.words import body_fault, words
from service.catalogue.revisions import AlreadyThereError, StaleRevisionError, UnknownError, WithdrawnError
from service.catalogue.upgrade import OutdatedDatabaseError
from service.engine.refusal import RefusedError
from service.judging.search_queue import SearchesBusyError
from service.ledger.records import UnknownRecordError
from service.searches.kept import SearchInterruptedError, UnknownSearchError

log = logging.getLogger("coilgap")

MEDIA_TYPE = "application/problem+json"
UNAVAILABLE, RETRY_AFTER_S = 503, 5
MOST_FAULTS = 100


class PreflightRefusedError(Exception):
    """A browser asks whether a page may do what it may not; ``headers`` say what it may."""

    def __init__(self, reason: str, headers: Mapping[str, str]) -> None:
        super().__init__(f"{reason}. The operator of this service names the origins whose pages may call it.")
        self.headers = headers


class ServiceEndingError(Exception):
    """The service ends before it is done with a request."""

    def __init__(self) -> None:
        super().__init__("The service is being stopped, and could not wait for this any longer: send it again.")


ERROR_TABLE: tuple[tuple[type[Exception], int | None, ProblemKind], ...] = (
    (RequestValidationError, None, NOT_VALID),
    (RefusedError, None, NOT_VALID),
    (ParameterError, None, NOT_VALID),
    (BadRowsError, None, NOT_VALID),
    (IdempotencyKeyReusedError, None, IDEMPOTENCY_KEY_REUSED),
    (IdempotencyKeyError, None, IDEMPOTENCY_KEY_MALFORMED),
    (KeyMissingError, None, KEY_NEEDED),
    (KeyUnknownError, None, KEY_NEEDED),
    (ScopeMissingError, None, SCOPE_MISSING),
    (HostMalformedError, None, MALFORMED),
    (HostUnknownError, None, HOST_UNKNOWN),
    (TooManyRequestsError, None, TOO_MANY),
    (UnknownError, None, NOT_FOUND),
    (UnknownRecordError, None, NOT_FOUND),
    (UnknownSearchError, None, NOT_FOUND),
    (ServiceEndingError, None, SERVICE_ENDING),
    (SearchesBusyError, None, SEARCHES_BUSY),
    (SearchInterruptedError, None, SEARCH_INTERRUPTED),
    (AlreadyThereError, None, CONFLICT),
    (WithdrawnError, None, CONFLICT),
    (StaleRevisionError, None, STALE),
    (IfMatchMissingError, None, IF_MATCH_MISSING),
    (MalformedBodyError, None, MALFORMED),
    (BodyTooLargeError, None, TOO_LARGE),
    (MediaTypeError, None, MEDIA_TYPE_UNKNOWN),
    (OutdatedDatabaseError, None, DATABASE_AWAY),
    (OperationalError, None, DATABASE_AWAY),
    (InterfaceError, None, DATABASE_AWAY),
    (PoolTimeoutError, None, DATABASE_AWAY),
    (PreflightRefusedError, None, WRONG_METHOD),
    (HTTPException, 400, MALFORMED),
    (HTTPException, 404, NOT_FOUND),
    (HTTPException, 405, WRONG_METHOD),
    (Exception, None, SERVER_FAULT),
)
"""The first row that fits an exception says how it is answered; the number narrows the framework's own exception."""

KINDS = {kind.name: kind for _, _, kind in ERROR_TABLE}


def kind_of(error: Exception) -> ProblemKind:
    return next(
        kind
        for exception, status, kind in ERROR_TABLE
        if isinstance(error, exception) and status in (None, getattr(error, "status_code", None))
    )


async def answer_error(request: Request, error: Exception) -> Response:
    """The handler of every exception of the table."""
    log_if_away(request.scope, error)
    return problem_response(request.scope, error)


def log_if_away(scope: Scope, error: Exception) -> None:
    """A line on a database that does not answer: what went wrong is not told to the client."""
    if kind_of(error) is DATABASE_AWAY:
        reason = str(error).split("\n", 1)[0]
        log.warning("%s %s: the database is away: %s", scope["method"], scope["path"], reason)


def problem_response(scope: Scope, error: Exception) -> Response:
    if isinstance(error, RequestValidationError) and any(each["loc"][0] == "path" for each in error.errors()):
        error = UnknownError("There is nothing of that name.")
    kind = kind_of(error)
    headers = _headers(scope, error, kind)
    if _is_page(scope):
        shown: Response = scope["app"].state.problem_page(scope, kind)
        shown.headers.update(headers)
        return shown
    body = orjson.dumps(problem_of(error, quote(scope["path"])))
    return Response(body, kind.status, headers, MEDIA_TYPE)


def _is_page(scope: Scope) -> bool:
    """Whether somebody sees the answer in a browser, at the counter."""
    accept = Headers(scope=scope).get("accept")
    return scope["path"].startswith("/counter") and preferred_type(accept, (MEDIA_TYPE, "text/html")) == "text/html"


def problem_of(error: Exception, instance: str, below: str = "") -> dict[str, Any]:
    """The problem that an error is. ``below``: where in the request's body the value stands that the error is about."""
    kind = kind_of(error)
    faults = _faults(error)
    for fault in faults:
        if "pointer" in fault:
            fault["pointer"] = below + fault["pointer"]
    problem: dict[str, Any] = {
        "type": f"/problems/{kind.name}",
        "title": kind.title,
        "status": kind.status,
        "detail": _detail(error, kind, faults),
        "instance": instance,
    }
    if faults:
        problem["errors"] = faults if isinstance(error, BadRowsError) else faults[:MOST_FAULTS]
    return problem


def _faults(error: Exception) -> list[dict[str, Any]]:
    if isinstance(error, BadRowsError):
        return [fault.shown() for fault in error.faults]
    if isinstance(error, RefusedError):
        return [{"pointer": fault.pointer, "detail": fault.detail} for fault in error.faults]
    if isinstance(error, (ParameterError, IdempotencyKeyReusedError)):
        return [{"parameter": error.parameter, "detail": str(error)}]
    if isinstance(error, RequestValidationError):
        return [_validation_fault(each, error.body) for each in error.errors()]
    return []


def _validation_fault(each: Any, body: object) -> dict[str, str]:
    if each["loc"][0] == "body":
        fault = body_fault(each, body)
        return {"pointer": fault.pointer, "detail": fault.detail}
    return {"parameter": str(each["loc"][-1]), "detail": words(each)}


def _detail(error: Exception, kind: ProblemKind, faults: list[dict[str, Any]]) -> str:
    if faults and not isinstance(error, BadRowsError):
        first = faults[0]
        where = first.get("pointer", first.get("parameter", "")) or "the body"
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        return f"{where}: {first['detail']}{more}"
    if kind is NOT_FOUND and isinstance(error, HTTPException):
        return "There is nothing at this address."
    if kind in (SERVER_FAULT, DATABASE_AWAY) or (kind is WRONG_METHOD and isinstance(error, HTTPException)):
        return kind.advice
    return str(error.detail) if isinstance(error, HTTPException) else str(error)


def _headers(scope: Scope, error: Exception, kind: ProblemKind) -> dict[str, str]:
    headers = dict(getattr(error, "headers", None) or {})
    if kind is WRONG_METHOD:
        headers["Allow"] = ", ".join(_allowed(scope))
    if kind.status == UNAVAILABLE:
        headers["Retry-After"] = str(RETRY_AFTER_S)
    if isinstance(error, StaleRevisionError) and error.current is not None:
        headers["ETag"] = f'"{error.current}"'
    return headers


def _allowed(scope: Scope) -> list[str]:
    """The methods that an address takes; the framework's own answer names those of one route only."""
    routes: list[Route] = scope["app"].state.routes
    methods = {method for route in routes if route.path_regex.match(scope["path"]) for method in route.methods or ()}
    return sorted(methods | ({"HEAD"} if "GET" in methods else set()))
