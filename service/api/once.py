"""Safe retries: a POST that is sent again under its Idempotency-Key is done once and answered alike.

Only what was done is kept. A request that was refused has changed nothing, so it may be put right and sent again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Awaitable, Callable
from functools import partial
from typing import Any

from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from service.api.idempotency_key import IdempotencyKeyReusedError, idempotency_key
from service.database import Database
from service.idempotency.answers import Answer, Attempt, Kept, find, forget_old, keep, keep_if_first, renew
from service.metrics import REPEATS
from service.web import Along, service_of

Handler = Callable[[Request], Awaitable[Response]]
OF_ONE_TIME = {"content-length", "x-request-id"}
"""Headers that each answer gets anew."""


def once(handle: Handler) -> Handler:
    """The same handler, but that a request under a key is handled once, however often it comes."""

    async def handle_once(request: Request) -> Response:
        key = idempotency_key(request)
        if key is None:
            return await handle(request)
        attempt = Attempt(request.state.caller.key_id, key, await _digest(request))
        async with service_of(request).turns.turn(attempt):
            return await _first_or_again(request, attempt, handle)

    return handle_once


def attempt_of(request: Request) -> Attempt | None:
    """The key that a request is handled under, if it has one."""
    # The state's own way to say that it has none takes ten times as long.
    attempt: Attempt | None = request.scope["state"].get("attempt")
    return attempt


def keep_response(request: Request, connection: Connection, response: Response) -> None:
    """Keep a response as the first answer, in the transaction that makes it true."""
    attempt = attempt_of(request)
    if attempt is not None:
        keep(connection, attempt, _answer(response))


def renew_response(request: Request, response: Response) -> None:
    """Give this response from now on, in place of the first answer that was kept when the work began."""
    attempt = attempt_of(request)
    if attempt is not None:
        with service_of(request).database.writing() as connection:
            renew(connection, attempt, _answer(response))


def along(request: Request, respond: Callable[[Any], Response]) -> Along | None:
    """Keep the response to what was decided as the first answer, in the transaction that holds its records."""
    attempt = attempt_of(request)
    if attempt is None:
        return None
    return lambda decided: partial(keep_if_first, attempt=attempt, answer=_answer(respond(decided)))


async def _first_or_again(request: Request, attempt: Attempt, handle: Handler) -> Response:
    database = service_of(request).database
    if service_of(request).turns.is_time_to_forget():
        await run_in_threadpool(_forget, database)
    kept = await run_in_threadpool(_find, database, attempt)
    if kept is not None:
        return _again(attempt, kept)
    request.state.attempt = attempt
    try:
        response = await handle(request)
        if response.status_code < 300 and not attempt.kept:  # nothing was stored that the answer could go along with
            await run_in_threadpool(_keep, database, attempt, _answer(response))
    except Exception:
        kept = await run_in_threadpool(_find, database, attempt)  # another process may have been quicker
        if kept is None:
            raise
        return _again(attempt, kept)
    return response


def _again(attempt: Attempt, kept: Kept) -> Response:
    if attempt.sha256 != kept.sha256:
        raise IdempotencyKeyReusedError
    REPEATS.inc()
    return Response(kept.answer.body, kept.answer.status, kept.answer.headers)


def _answer(response: Response) -> Answer:
    headers = {name: value for name, value in response.headers.items() if name not in OF_ONE_TIME}
    return Answer(response.status_code, headers, bytes(response.body))


async def _digest(request: Request) -> str:
    head = f"{request.method} {request.url.path}?{request.url.query}\n".encode()
    return hashlib.sha256(head + await request.body()).hexdigest()


def _find(database: Database, attempt: Attempt) -> Kept | None:
    with database.reading() as connection:
        return find(connection, attempt)


def _keep(database: Database, attempt: Attempt, answer: Answer) -> None:
    with database.writing() as connection:
        keep(connection, attempt, answer)


def _forget(database: Database) -> None:
    with database.writing() as connection:
        forget_old(connection)
