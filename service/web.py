"""What every way into the service shares: its parts, the request's id, and the road from a question to a record."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

import orjson
import uuid_utils
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import Scope

from service.catalogue.combination import Combination, combine
from service.catalogue.references import References
from service.database import Database, canonical, utc_now
from service.engine import ENGINE_VERSION, POLICIES, evaluate
from service.ledger.writer import Entry, LedgerWriter
from service.settings import Settings

SANE_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


@dataclass(frozen=True, slots=True)
class Service:
    """The parts of one running service."""

    settings: Settings
    database: Database
    references: References
    ledger: LedgerWriter

    def close(self) -> None:
        self.ledger.close()
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
class Decided:
    """A verdict as it goes out, and its id if it was kept."""

    record_id: str | None
    body: bytes


async def decide(service: Service, question: dict[str, Any], *, keep: bool) -> Decided:
    """Judge a checked question. With ``keep`` the record is durable when this returns."""
    if service.database.embedded:
        combination = combine(service.references, question)
    else:  # a server may take its time, and the event loop has other callers
        combination = await run_in_threadpool(combine, service.references, question)
    record_id = new_id() if keep else None
    asked = canonical(order_free(question))
    record = verdict_record(record_id, combination, question["policy"], asked)
    body = orjson.dumps(record)
    if record_id is not None:
        await service.ledger.append(ledger_entry(record, combination, asked, body))
    return Decided(record_id, body)


def order_free(question: dict[str, Any]) -> dict[str, Any]:
    """The question with its parts and accessories in an order of ours: theirs carries no meaning."""
    ordered = {**question, "parts": sorted(question["parts"], key=canonical)}
    if "load" in question:
        accessories = sorted(question["load"]["accessories"], key=canonical)
        ordered["load"] = {**question["load"], "accessories": accessories}
    return ordered


def verdict_record(record_id: str | None, combination: Combination, policy: str, asked: bytes) -> dict[str, Any]:
    """What the engine says of a combination, and what that rests on."""
    provenance = {
        "engine_version": ENGINE_VERSION,
        "policy": policy,
        "policy_version": POLICIES[policy].version,
        "vehicle_revision": combination.vehicle_revision,
        "axle_revision": combination.axle_revision,
        "part_revisions": combination.part_revisions,
        "request_sha256": hashlib.sha256(asked).hexdigest(),
        "evaluated_at": utc_now(),
    }
    return {"id": record_id, **evaluate([combination.build]).record(0), "provenance": provenance}


def ledger_entry(record: dict[str, Any], combination: Combination, asked: bytes, body: bytes) -> Entry:
    provenance = record["provenance"]
    row = {
        "id": record["id"],
        "evaluated_at": provenance["evaluated_at"],
        "vehicle": combination.vehicle,
        "axle": combination.end,
        "verdict": record["verdict"],
        "action": record["action"],
        "headline": record["headline"],
        "engine_version": provenance["engine_version"],
        "policy": provenance["policy"],
        "policy_version": provenance["policy_version"],
        "request": asked.decode(),
        "request_sha256": provenance["request_sha256"],
        "body": body,
    }
    return Entry(row, tuple(combination.part_revisions))
