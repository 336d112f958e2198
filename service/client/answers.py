"""What answers hold, looked at before it is given back: something else may sit at the address of the service.

Whoever reads an answer raises one of ``problems.NOT_OURS`` where it is none of this service.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import httpx

from service.client.bodies import ImportReport, Search, ShelfFits, VerdictRecord
from service.client.problems import ProblemError, problem

T = TypeVar("T")
ACTIONS: dict[str | None, str] = {"clear": "sell", "marginal": "refer", "undetermined": "refer", "unsafe": "stop"}
ACTIONS_AT_SHELF = {**ACTIONS, None: "stop"}
"""A part that cannot be put on an axle at all has no verdict."""
MEDIA_TYPES = {"csv": "text/csv", "jsonl": "application/jsonl"}


@dataclass(frozen=True, slots=True)
class Held(Generic[T]):
    """A thing of the catalogue as it was read; a change of it sends ``etag`` along."""

    body: T
    etag: str


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    items: list[T]
    next: str | None


def record(answer: httpx.Response) -> VerdictRecord:
    return _record(answer.json())


def results(answer: httpx.Response, asked: int) -> list[VerdictRecord | ProblemError]:
    """As many as were asked for, in their order."""
    found: list[VerdictRecord | ProblemError]
    found = _each(answer.json(), "results", lambda each: _record(each) if "verdict" in each else problem(each))
    if len(found) != asked:
        raise ValueError(f"{len(found)} results for {asked} requests")
    return found


def summaries(answer: httpx.Response) -> Page[Any]:
    return _page(answer, lambda each: _decided(each, ACTIONS))


def stored(answer: httpx.Response) -> Page[Any]:
    return _page(answer, lambda each: _object(each, "revision"))


def held(answer: httpx.Response) -> Held[Any]:
    return Held(_object(answer.json(), "revision"), answer.headers["etag"])


def nothing(answer: httpx.Response) -> None:
    if answer.status_code != httpx.codes.NO_CONTENT:
        raise ValueError("expected no content")


def fits(answer: httpx.Response) -> ShelfFits:
    found: ShelfFits = _object(answer.json(), "vehicle", "end")
    _each(found, "items", lambda each: _decided(each, ACTIONS_AT_SHELF))
    return found


def search(answer: httpx.Response) -> Search:
    found: Search = _object(answer.json(), "id", "status", "counts")
    for name in ("items", "near_misses"):
        _each(found, name, lambda each: _decided(each, ACTIONS))
    if found["problem"] is not None:
        problem(found["problem"])
    _next(found)
    return found


def report(answer: httpx.Response) -> ImportReport:
    found: ImportReport = _object(answer.json(), "imported", "rows", "created", "errors")
    return found


def file(answer: httpx.Response, form: str) -> bytes:
    if answer.headers["content-type"].partition(";")[0] != MEDIA_TYPES[form]:
        raise ValueError(f"expected {MEDIA_TYPES[form]}")
    return answer.content


def _record(body: Any) -> VerdictRecord:
    found: VerdictRecord = _decided(_object(body, "id", "headline", "missing", "provenance"), ACTIONS)
    _each(found, "checks", lambda each: _object(each, "check", "outcome"))
    return found


def _decided(body: Any, actions: dict[Any, str]) -> Any:
    """What a shop decides by: a verdict that is known, with its own action."""
    if actions[body["verdict"]] != body["action"]:
        raise ValueError(f"the verdict {body['verdict']} with the action {body['action']}")
    return body


def _page(answer: httpx.Response, look: Callable[[Any], Any]) -> Page[Any]:
    body = answer.json()
    return Page(_each(body, "items", look), _next(body))


def _next(body: Any) -> str | None:
    if not isinstance(body["next"], str | None):
        raise TypeError("expected next to be a cursor or null")
    return body["next"]


def _each(body: Any, name: str, look: Callable[[Any], T]) -> list[T]:
    if not isinstance(body[name], list):
        raise TypeError(f"expected {name} to be a list")
    return [look(each) for each in body[name]]


def _object(body: Any, *members: str) -> Any:
    if not isinstance(body, dict):
        raise TypeError("expected an object")
    absent = [member for member in members if member not in body]
    if absent:
        raise KeyError(*absent)
    return body
