"""What every way into the service shares: its parts, the request's id, and the road from a question to a record."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import uuid_utils
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import Scope

from service.catalogue.combination import combine, is_at_hand
from service.catalogue.references import References
from service.database import Database, utc_now
from service.engine.refusal import RefusedError
from service.idempotency.turns import Turns
from service.judging.batches import Batches
from service.judging.current import Current
from service.judging.judged import Judged, judged
from service.judging.mending import mended, wants_remedies
from service.judging.ready import Ready, ReadyAnswers
from service.judging.search_queue import SearchQueue
from service.judging.together import Together
from service.keys.ring import KeyRing
from service.ledger.writer import Entry, LedgerWriter
from service.metrics import READY_HITS, READY_MISSES, verdicts_given
from service.settings import Settings

Found = TypeVar("Found")
SANE_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


@dataclass(frozen=True, slots=True)
class Service:
    """The parts of one running service."""

    settings: Settings
    database: Database
    references: References
    ledger: LedgerWriter
    ready: ReadyAnswers
    current: Current
    together: Together
    batches: Batches
    keys: KeyRing
    turns: Turns
    searches: SearchQueue

    def close(self) -> None:
        self.batches.close()
        self.searches.close()
        self.ledger.close()
        self.keys.close()
        self.references.close()
        self.database.close()


def service_of(request: Request) -> Service:
    service: Service = request.app.state.service
    return service


def request_id(scope: Scope) -> str:
    """The id that the client gave its request, if it is a sane one; else a new one."""
    for name, value in scope["headers"]:
        if name == b"x-request-id":
            given = value.decode("latin-1")
            if SANE_REQUEST_ID.fullmatch(given):
                return str(given)
    return new_id()


def new_id() -> str:
    """A UUID of version 7: its order is that of time."""
    return str(uuid_utils.uuid7())


@dataclass(frozen=True, slots=True)
class Asked:
    """A checked question, and whether its verdict is to be kept."""

    question: dict[str, Any]
    keep: bool


@dataclass(frozen=True, slots=True)
class Decided:
    """A verdict as it goes out, and its id if it was kept."""

    record_id: str | None
    body: bytes


Along = Callable[[Any], Callable[[Connection], bool]]
"""Makes of what was decided what is asked in the transaction of its records: whether they are the first ones."""


async def ready(service: Service, asked: bytes, along: Along | None = None) -> Decided | None:
    """The verdict on a request that was decided lately, unless something that it rests on has changed since."""
    found = service.ready.find(asked)
    if found is None or not await _still_holds(service, found.judged):
        READY_MISSES.inc()
        return None
    READY_HITS.inc()
    return await give(service, found.judged, keep=found.keep, along=along)


async def _still_holds(service: Service, verdict: Judged) -> bool:
    catalogue = await service.current.standing()
    if verdict.is_told_by(catalogue):
        return verdict.still_holds(catalogue)
    return await _looked_up(service, verdict.still_holds, catalogue)


async def decide(service: Service, asked: Asked, text: bytes, along: Along | None = None) -> Decided:
    """Judge a checked question that came in these bytes. If it is kept, its record is durable when this returns."""
    catalogue = await service.current.standing()
    if service.database.embedded or is_at_hand(catalogue, asked.question):
        combination = combine(catalogue, asked.question)
    else:
        combination = await _looked_up(service, combine, catalogue, asked.question)
    wants = wants_remedies(asked.question)
    record, remedies = await service.together.verdict(combination.build, wants_remedies=wants)
    verdict = judged(combination, asked.question, mended(record, asked.question, combination, remedies))
    service.ready.keep(text, Ready(verdict, asked.keep))
    return await give(service, verdict, keep=asked.keep, along=along)


async def decide_all(
    service: Service, asked: Sequence[Asked], along: Along | None = None
) -> list[Decided | RefusedError]:
    """Judge many checked questions at once, in their order.

    The records of all that are kept are durable when this returns; where they cannot be, none of them is.
    """
    verdicts = await service.batches.judge_all([each.question for each in asked])
    entries: list[Entry] = []
    decided = [
        each if isinstance(each, RefusedError) else _decided(each, entries, keep=question.keep)
        for each, question in zip(verdicts, asked, strict=True)
    ]
    await _append(service, entries, along, decided)
    return decided


async def give(service: Service, verdict: Judged, *, keep: bool, along: Along | None = None) -> Decided:
    """A verdict given now. If it is kept, its record is durable when this returns."""
    entries: list[Entry] = []
    decided = _decided(verdict, entries, keep=keep)
    await _append(service, entries, along, decided)
    return decided


async def _append(service: Service, entries: list[Entry], along: Along | None, decided: object) -> None:
    if not entries:
        return
    if along is not None:
        entries[0] = replace(entries[0], is_first=along(decided))
    await service.ledger.append(*entries)


def _decided(verdict: Judged, entries: list[Entry], *, keep: bool) -> Decided:
    """A verdict with the time and, if it is kept, an id; its entry is then put to the others."""
    record_id, now = new_id() if keep else None, utc_now()
    verdicts_given(verdict.verdict).inc()
    body = verdict.body(record_id, now)
    if record_id is not None:
        entries.append(verdict.entry(record_id, now, body))
    return Decided(record_id, body)


async def _looked_up(service: Service, look: Callable[..., Found], *arguments: Any) -> Found:
    if service.database.embedded:
        return look(*arguments)
    return await run_in_threadpool(look, *arguments)  # a server may take its time, and the loop has other callers
