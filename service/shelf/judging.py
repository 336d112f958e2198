"""Judging offers alone on the factory axle: a pure function of what it is given, so that it may run anywhere.

An offer becomes a build on the road that an evaluation takes (``combine``), out of the job in place of the database:
what an evaluation would refuse is to stop at the shelf, in the same words.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import orjson

from service.catalogue.combination import combine
from service.catalogue.references import AxleHead, AxleName, CataloguedPart, Heads, PartHead, compiled
from service.engine import ENGINE_VERSION, POLICIES, Axle, Build, RefusedError, evaluate
from service.engine.decision import ACTIONS
from service.engine.envelope import Duty, End
from service.engine.foremost_finding import in_short
from service.shelf.offers import Offer, part_of_text

DUTY: Duty = "rock_and_articulation"
"""The hardest: what a customer does with his vehicle is not known at the shelf."""
POLICY = "standard"
STOP = "stop"
KEPT_AXLES = 8
AT_ONCE = 1024
"""Builds evaluated at once: more would not be quicker, and what the engine keeps of each takes 26 kB."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on one offer; no ``verdict`` where the engine refuses the build, which is to stop."""

    sku: str
    basis: str
    verdict: str | None
    check_name: str | None
    because: str
    lift_mm: float | None = None
    lift_plus_minus_mm: float | None = None

    @property
    def action(self) -> str:
        return STOP if self.verdict is None else ACTIONS[self.verdict]


@dataclass(frozen=True, slots=True)
class ShelfJob:
    """Offers to judge on one axle, with everything that it takes: bodies as JSON texts, those of parts by SKU."""

    vehicle: str
    end: End
    revisions: tuple[int, int]
    axle_text: str
    masses_text: str
    offers: tuple[Offer, ...]
    texts: dict[str, str]


def basis_of(revisions: tuple[int, int], offer: Offer) -> str:
    """Everything that a judgement rests on, in a word: as long as it is the same, so is the judgement."""
    pieces = ",".join(f"{piece.revision}{'' if piece.active else 'w'}" for piece in offer.pieces)
    policy = f"{POLICY}.{POLICIES[POLICY].version}"
    vehicle, axle = revisions
    return f"engine {ENGINE_VERSION} {policy} vehicle {vehicle} axle {axle} part {offer.revision} of {pieces}"


def judge_shelf(job: ShelfJob) -> list[Judgement]:
    """The verdict on each offer of a job, in their order: alone on the axle as it left the factory, without a load."""
    catalogue = _JobCatalogue(job)
    return [
        judgement
        for first in range(0, len(job.offers), AT_ONCE)
        for judgement in _judged(job, catalogue, job.offers[first : first + AT_ONCE])
    ]


class _JobCatalogue:
    """What a job says of the catalogue, for whoever would look it up there."""

    def __init__(self, job: ShelfJob) -> None:
        self._axle = _axle(job.axle_text, job.masses_text, job.end)
        self._axle_head = AxleHead(job.revisions[0], True, job.revisions[1])
        pieces = [piece for offer in job.offers for piece in offer.pieces]
        self._heads = {piece.sku: PartHead(piece.revision, piece.active) for piece in pieces}
        self._heads |= {offer.sku: PartHead(offer.revision, active=True) for offer in job.offers}
        self._parts = {sku: part_of_text(text) for sku, text in job.texts.items()}

    def part(self, sku: str, _revision: int) -> CataloguedPart:
        return self._parts[sku]

    def axle(self, *_named: object) -> Axle:
        return self._axle

    def heads(self, axle: AxleName | None, skus: Collection[str]) -> Heads:
        known = {sku: self._heads[sku] for sku in skus if sku in self._heads}
        return None if axle is None else self._axle_head, known


def _judged(job: ShelfJob, catalogue: _JobCatalogue, offers: tuple[Offer, ...]) -> Iterator[Judgement]:
    outcomes = [_build(job, catalogue, offer) for offer in offers]
    told = iter(in_short(evaluate([build for build in outcomes if isinstance(build, Build)])))
    for offer, outcome in zip(offers, outcomes, strict=True):
        basis = basis_of(job.revisions, offer)
        if isinstance(outcome, str):
            yield Judgement(offer.sku, basis, None, None, outcome)
        else:
            short = next(told)
            lift = short.lift_mm or (None, None)
            yield Judgement(offer.sku, basis, short.verdict, short.check, short.because, *lift)


def _build(job: ShelfJob, catalogue: _JobCatalogue, offer: Offer) -> Build | str:
    """The build of an offer, or why an evaluation would refuse it."""
    question = {
        "axle": {"vehicle": job.vehicle, "end": job.end},
        "parts": [{"sku": offer.sku, "quantity": 1}],
        "duty": DUTY,
        "policy": POLICY,
    }
    try:
        return combine(catalogue, question).build
    except RefusedError as error:
        return error.faults[0].detail


@lru_cache(KEPT_AXLES)
def _axle(axle_text: str, masses_text: str, end: End) -> Axle:
    envelope: dict[str, Any] = orjson.loads(axle_text)
    return compiled(envelope, orjson.loads(masses_text), end, POLICY)
