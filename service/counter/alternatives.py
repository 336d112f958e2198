"""Under a refusal: the best builds of the catalogue that would fit instead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import inf
from typing import Any

import orjson

from service.catalogue.references import KIT, AxleName
from service.catalogue.suited import suited
from service.counter.form import Form
from service.counter.instead import form_of_parts
from service.counter.question import Named
from service.engine.parts import PART_KINDS, Accessory
from service.engine.refusal import RefusedError
from service.engine.search import search
from service.judging.judge import judge_all
from service.judging.searching import prepare
from service.web import Service

MOST_SHOWN, MOST_KITS = 3, 30
MOST_TRIED = 4_000
"""Combinations: so many are looked through in a tenth of a second, which nobody minds on a refusal."""
NEAREST_MM = 400.0
"""Where no lift was asked for: however far from the refused build's, the nearest first."""
LEAST_LIFT_MM = 1.0
"""A build that lifts by less was not meant to lift."""
OFTEN_MISSING = (
    "bump_stop_spacer", "limit_strap", "spring_spacer", "strut_top_spacer", "bump_stop", "coil_spring", "leaf_pack",
    "strut", "damper", "upper_arm", "differential_spacer", "brake_hose", "leaf_block", "shackle", "torsion_bar",
)  # fmt: skip
"""Kinds that may be changed too, what is changed most easily first."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """A build that is clear: its parts by their names, its lift, and the form that states it."""

    names: tuple[str, ...]
    lift_mm: tuple[float, float] | None
    form: Form

    def far_from(self, lift_mm: float) -> float:
        return inf if self.lift_mm is None else round(abs(self.lift_mm[0] - lift_mm), 1)


def alternatives(
    service: Service, form: Form, named: list[Named], record: dict[str, Any], question: dict[str, Any]
) -> list[Alternative]:
    """The best three of the catalogue that are clear, nearest to the lift that is asked for, or that the build has.

    Single parts in every combination of their kinds, and kits. No part of the build is kept but those of kinds that are
    not changed; two with the same lift count as one. Where nobody can tell how high the build rides, what leaves the
    vehicle as high as it is stands for no part that may lift it.
    """
    axle: AxleName = (form.vehicle, "rear" if form.end == "rear" else "front")
    wish = {} if "target_lift_mm" in question else _lift_of(record)
    found = [*_of_kits(service, axle, form, question), *_of_single_parts(service, axle, form, named, question | wish)]
    wanted = (question | wish).get("target_lift_mm")
    lift = wanted["value"] if isinstance(wanted, dict) else wanted
    if lift is None and record["lift_mm"] is None:
        found = [each for each in found if each.far_from(0.0) >= LEAST_LIFT_MM]
    return _unlike(found if lift is None else sorted(found, key=lambda each: each.far_from(lift)))


def _of_single_parts(
    service: Service, axle: AxleName, form: Form, named: list[Named], question: dict[str, Any]
) -> Iterator[Alternative]:
    kinds = _kinds(service, axle, named, question)
    keep = [entry for entry in question["parts"] if _kind(entry, named) not in (*kinds, KIT)]
    if not kinds:
        return
    try:
        prepared = prepare(
            service.database, service.references, {**question, "kinds": kinds, "keep": keep, "near_misses": 0}
        )
        found = search(prepared.wanted)
    except RefusedError:
        return
    names, kept = _names(service, axle, kinds), len(prepared.wanted.kept)
    for candidate in found.clear:
        chosen = [part.name for part in candidate.parts[kept:]]
        if chosen:
            parts = [*keep, *({"sku": sku} for sku in chosen)]
            told = tuple(f"{sku} {names[sku]}" for sku in chosen)
            yield Alternative(told, candidate.lift_mm, _form(form, parts, question))


def _of_kits(service: Service, axle: AxleName, form: Form, question: dict[str, Any]) -> Iterator[Alternative]:
    names = _names(service, axle, [KIT])
    plain = {name: value for name, value in question.items() if name not in ("target_lift_mm", "lift_tolerance_mm")}
    questions = [{**plain, "parts": [{"sku": sku, "quantity": 1}], "remedies": False} for sku in [*names][:MOST_KITS]]
    for (sku, name), judged in zip(names.items(), judge_all(service.references.standing(), questions), strict=False):
        if isinstance(judged, RefusedError) or judged.verdict != "clear":
            continue
        lift = orjson.loads(judged.body(None, ""))["lift_mm"]
        parts = [{"sku": sku}]
        told = None if lift is None else (lift["value"], lift["plus_minus"])
        yield Alternative((f"{sku} {name}",), told, _form(form, parts, question))


def _form(form: Form, parts: list[dict[str, Any]], question: dict[str, Any]) -> Form:
    """The form of another build. It asks for no lift: that is told beside it, and seldom sure to a few millimetres."""
    return replace(form_of_parts(form, parts, question.get("load", {})), target_lift_mm="")


def _kinds(service: Service, axle: AxleName, named: list[Named], question: dict[str, Any]) -> list[str]:
    """Kinds of the build, then others that the catalogue has for this axle, as long as there are not too many."""
    with service.database.reading() as connection:
        on_sale = Counter(part.kind for part in suited(connection, axle))
    own = [_kind(entry, named) for entry in question["parts"]]
    chosen: list[str] = []
    tried = 1
    for kind in dict.fromkeys((*own, *OFTEN_MISSING)):
        choices = 1 + on_sale[kind]
        if kind in PART_KINDS and kind != Accessory.kind and choices > 1 and tried * choices <= MOST_TRIED:
            chosen.append(kind)
            tried *= choices
    return chosen


def _kind(entry: dict[str, Any], named: list[Named]) -> str:
    if "part" in entry:
        return str(entry["part"]["kind"])
    return next((each.kind for each in named if each.sku == entry["sku"]), "")


def _lift_of(record: dict[str, Any]) -> dict[str, float]:
    lift = record["lift_mm"]
    if lift is None or abs(lift["value"]) < LEAST_LIFT_MM:
        return {}
    return {"target_lift_mm": round(lift["value"], 1), "lift_tolerance_mm": NEAREST_MM}


def _names(service: Service, axle: AxleName, kinds: list[str]) -> dict[str, str]:
    with service.database.reading() as connection:
        return {part.sku: part.name for part in suited(connection, axle, kinds)}


def _unlike(found: Iterable[Alternative]) -> list[Alternative]:
    """The first of them, no two of the same lift."""
    chosen: dict[float | None, Alternative] = {}
    for each in found:
        chosen.setdefault(None if each.lift_mm is None else round(each.lift_mm[0], 1), each)
        if len(chosen) == MOST_SHOWN:
            break
    return list(chosen.values())
