"""Judging a record's request once more, against the revisions that it was decided from then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import orjson

from service.catalogue.recorded import RecordedReferences
from service.catalogue.references import Lookup
from service.catalogue.revisions import UnknownError
from service.database import UNREACHABLE, canonical
from service.engine import ENGINE_VERSION, POLICIES
from service.engine.refusal import RefusedError
from service.judging.judge import judge
from service.ledger.kept import KeptRecord

ABSENT = "nothing"
ENGINE_POINTER = "/provenance/engine_version"


@dataclass(frozen=True, slots=True)
class Difference:
    """One value that came out otherwise, by its RFC 6901 pointer into the record; both sides as JSON."""

    pointer: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Replayed:
    """What came of a record: ``refused`` says why it cannot be judged any more, else the differences are complete."""

    record_id: str
    engine_then: str
    differences: tuple[Difference, ...]
    refused: str | None = None

    @property
    def same(self) -> bool:
        """The same in every value; that another version of the engine reached it is no difference."""
        return self.refused is None and all(each.pointer == ENGINE_POINTER for each in self.differences)


def replay(references: Lookup, kept: KeptRecord) -> Replayed:
    """Judge a kept request as if it came now, with the catalogue as it was then."""
    try:
        return _replayed(references, kept)
    except UNREACHABLE:
        raise
    except Exception as error:  # noqa: BLE001 — altered cells hold anything, and whatever is made of them may fail
        altered = f"it, or a catalogue revision that it rests on, was altered ({error!r})"
        return Replayed(kept.record_id, kept.engine_version, (), altered)


def _replayed(references: Lookup, kept: KeptRecord) -> Replayed:
    question, was = orjson.loads(kept.request), kept.body
    if question["policy"] not in POLICIES:
        no_policy = f"engine {ENGINE_VERSION} has no policy {question['policy']}"
        return Replayed(kept.record_id, kept.engine_version, (), no_policy)
    try:
        judged = judge(RecordedReferences(references, kept.revisions), question)
    except (RefusedError, UnknownError) as error:
        return Replayed(kept.record_id, kept.engine_version, (), str(error))
    record = orjson.loads(judged.body(kept.record_id, was["provenance"]["evaluated_at"]))
    if "remedies" not in was:  # it is from the time before there were any
        del record["remedies"]
    return Replayed(kept.record_id, kept.engine_version, tuple(differences(was, record)))


def differences(was: Any, now: Any, pointer: str = "") -> Iterator[Difference]:
    """Where two JSON values differ, as deep down as can be said.

    >>> [each.pointer for each in differences({"a": [1, 2]}, {"a": [1, 3]})]
    ['/a/1']
    """
    if isinstance(was, dict) and isinstance(now, dict):
        for name in was | now:
            at = f"{pointer}/{name.replace('~', '~0').replace('/', '~1')}"
            yield from _of_members(was, now, name, at)
    elif isinstance(was, list) and isinstance(now, list):
        then, today = dict(enumerate(was)), dict(enumerate(now))
        for index in then | today:
            yield from _of_members(then, today, index, f"{pointer}/{index}")
    elif canonical(was) != canonical(now):  # as JSON, where 1 and true are not the same
        yield Difference(pointer, canonical(was).decode(), canonical(now).decode())


def _of_members(was: dict[Any, Any], now: dict[Any, Any], name: Any, at: str) -> Iterator[Difference]:
    if name in was and name in now:
        yield from differences(was[name], now[name], at)
    else:
        yield Difference(at, *(canonical(side[name]).decode() if name in side else ABSENT for side in (was, now)))
