"""Judging offers alone on the factory axle: a pure function of what it is given, so that it may run anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import isnan
from typing import Any

import orjson

from service.catalogue.references import CataloguedPart, compiled
from service.engine import ENGINE_VERSION, POLICIES, Axle, Build, Fault, ProposedPart, RefusedError, assemble, evaluate
from service.engine.decision import ACTIONS, OUTCOMES
from service.engine.envelope import Duty, End
from service.shelf.offers import Offer, Piece, part_of_text

DUTY: Duty = "rock_and_articulation"
"""The hardest: what a customer does with his vehicle is not known at the shelf."""
POLICY = "standard"
STOP = "stop"
KEPT_AXLES = 8


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
    axle = _axle(job.axle_text, job.masses_text, job.end)
    builds: list[Build] = []
    refusals: dict[str, str] = {}
    for offer in job.offers:
        try:
            builds.append(_build(axle, offer, job))
        except RefusedError as error:
            refusals[offer.sku] = error.faults[0].detail
    verdicts, rows = evaluate(builds), iter(range(len(builds)))
    told: list[Judgement] = []
    for offer in job.offers:
        basis = basis_of(job.revisions, offer)
        if offer.sku in refusals:
            told.append(Judgement(offer.sku, basis, None, None, refusals[offer.sku]))
            continue
        row = next(rows)
        check, (lift, plus_minus) = verdicts.headline(row), verdicts.lift_mm(row)
        known = not (isnan(lift) or isnan(plus_minus))
        told.append(
            Judgement(
                offer.sku, basis, OUTCOMES[verdicts.codes[row]], check.label.check, check.because(),
                lift if known else None, plus_minus if known else None,
            )
        )  # fmt: skip
    return told


def _build(axle: Axle, offer: Offer, job: ShelfJob) -> Build:
    """The build of an offer. Raises ``RefusedError`` where it cannot be, or holds what an evaluation would refuse."""
    parts = []
    for piece in offer.pieces:
        catalogued = part_of_text(job.texts[piece.sku])
        if wrong := _unsold(piece, catalogued, job):
            raise RefusedError([Fault("/sku", f"In the kit {offer.sku}: {piece.sku} {wrong}.")])
        if catalogued.part is None:
            raise RefusedError([Fault("/sku", f"In the kit {offer.sku}: {piece.sku} is a kit itself.")])
        parts.append(ProposedPart(catalogued.part, piece.quantity, piece.sku, "/sku"))
    return assemble(axle, parts, None, DUTY)


def _unsold(piece: Piece, catalogued: CataloguedPart, job: ShelfJob) -> str:
    """Why a part of a kit is not sold for the axle; nothing where it is."""
    if not piece.active:
        return "has been withdrawn"
    return "" if catalogued.suits(job.vehicle, job.end) else f"is not sold for the {job.end} axle of {job.vehicle}"


@lru_cache(KEPT_AXLES)
def _axle(axle_text: str, masses_text: str, end: End) -> Axle:
    envelope: dict[str, Any] = orjson.loads(axle_text)
    return compiled(envelope, orjson.loads(masses_text), end, POLICY)
