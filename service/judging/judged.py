"""A verdict in the bytes that go out, made once; only its id and its time are put in each time that it is given."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import orjson

from service.catalogue.combination import Combination
from service.catalogue.references import AxleName, Heads, Lookup, Standing
from service.database import canonical
from service.engine import ENGINE_VERSION, POLICIES
from service.engine.lasting import Lasting
from service.ledger.writer import Entry

TOLD = ("verdict", "action", "headline")
REVISIONS = (("vehicle", "vehicle_revision"), ("axle", "axle_revision"), ("parts", "part_revisions"))
"""What the ledger calls them, and where they stand in the provenance."""


@dataclass(frozen=True)
class Judged:
    """``middle`` is the record's JSON between its id and its time; verdict, action and headline are ``told`` in it, and
    the ``provenance``. ``asked`` is the canonical JSON of the request.

    ``axle`` and ``heads`` are what it rests on in the catalogue, ``end`` is the end of the vehicle.
    """

    middle: bytes
    told: tuple[str, str, str]
    provenance: Mapping[str, Any]
    asked: bytes
    end: str
    axle: AxleName | None
    heads: Heads

    @property
    def verdict(self) -> str:
        return self.told[0]

    @cached_property
    def facts(self) -> Mapping[str, Any]:
        """The columns of its row in the ledger."""
        provenance = self.provenance
        return {
            "vehicle": None if self.axle is None else self.axle[0],
            "axle": self.end,
            **dict(zip(TOLD, self.told, strict=True)),
            **{name: provenance[name] for name in ("engine_version", "policy", "policy_version", "request_sha256")},
            "request": self.asked.decode(),
            "revisions": canonical({name: provenance[where] for name, where in REVISIONS}).decode(),
        }

    def still_holds(self, catalogue: Lookup) -> bool:
        """Whether everything that it rests on is in force as it was."""
        return catalogue.heads(self.axle, self.heads[1]) == self.heads

    def is_told_by(self, catalogue: Standing) -> bool:
        """Whether that can be told without asking the database."""
        return catalogue.knows(self.axle, self.heads[1])

    def body(self, record_id: str | None, evaluated_at: str) -> bytes:
        """The verdict record.

        >>> middle = b'"verdict":"clear","provenance":{"policy":"standard"'
        >>> clear = Judged(middle, ("clear", "sell", ""), {}, b"", "front", None, (None, {}))
        >>> clear.body(None, "2026-01-01T00:00:00Z")
        b'{"id":null,"verdict":"clear","provenance":{"policy":"standard","evaluated_at":"2026-01-01T00:00:00Z"}}'
        """
        named = "null" if record_id is None else f'"{record_id}"'
        return b'{"id":%b,%b,"evaluated_at":"%b"}}' % (named.encode(), self.middle, evaluated_at.encode())

    def entry(self, record_id: str, evaluated_at: str, body: bytes) -> Entry:
        row = {"id": record_id, "evaluated_at": evaluated_at, "body": body, **self.facts}
        return Entry(row, tuple(sorted(self.heads[1])))


def judged(combination: Combination, question: dict[str, Any], verdict: dict[str, object]) -> Judged:
    """What the engine says of a combination, and what that rests on."""
    asked = canonical(order_free(question))
    policy = question["policy"]
    provenance = {
        "engine_version": ENGINE_VERSION,
        "policy": policy,
        "policy_version": POLICIES[policy].version,
        "vehicle_revision": combination.vehicle_revision,
        "axle_revision": combination.axle_revision,
        "part_revisions": combination.part_revisions,
        "request_sha256": hashlib.sha256(asked).hexdigest(),
    }
    written = {name: _written(value) for name, value in verdict.items()}
    middle = orjson.dumps({**written, "provenance": provenance})[1:-2]
    heads = (combination.axle_head, combination.part_heads)
    told = str(verdict["verdict"]), str(verdict["action"]), str(verdict["headline"])
    return Judged(middle, told, provenance, asked, combination.end, combination.axle, heads)


def _written(value: object) -> object:
    """What lasts is written apart when it comes for the second time, and kept so; the rest is left to be written."""
    if type(value) is list:
        return [_written(each) for each in value]
    if type(value) is not Lasting:
        return value
    if not value.came_before:
        value.came_before = True
        return value
    if value.text is None:
        value.text = orjson.Fragment(orjson.dumps(value))
    return value.text


def order_free(question: dict[str, Any]) -> dict[str, Any]:
    """The question with its parts and accessories in an order of ours: theirs carries no meaning."""
    ordered = {**question, "parts": sorted(question["parts"], key=canonical)}
    if "load" in question:
        accessories = sorted(question["load"]["accessories"], key=canonical)
        ordered["load"] = {**question["load"], "accessories": accessories}
    return ordered
