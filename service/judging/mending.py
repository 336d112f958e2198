"""Remedies in the record: what the engine found, and what to send instead of the request to ask for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.catalogue.combination import Combination
from service.catalogue.engine_values import body_of
from service.engine import Build, check_part
from service.engine.evaluation import Verdicts
from service.engine.parts import Accessory
from service.engine.remedies import Remedy
from service.judging.judged import order_free

Body = dict[str, Any]


def failing(verdicts: Verdicts, rows: Sequence[int]) -> list[int]:
    """Those of some builds that anything could be mended of."""
    return [row for row in rows if verdicts.fails(row)]


def wants_remedies(question: Mapping[str, Any]) -> bool:
    return bool(question.get("remedies", True))


def mended(verdict: Mapping[str, object], question: Body, combination: Combination, found: Sequence[Remedy]) -> Body:
    """The verdict with its remedies; with none at all, not even an empty list, where nobody asked for them."""
    if not wants_remedies(question):
        return {**verdict, "remedies": None}
    told = [{**remedy.told, "instead": _instead(remedy, question, combination.build)} for remedy in found]
    return {**verdict, "remedies": told}


def _instead(remedy: Remedy, question: Body, build: Build) -> Body | None:
    """The request's parts and load with the change in place; none where the change is not of them."""
    if remedy.kind:
        instead = _other_parts(remedy, question, build)
    else:
        of_load = str(remedy.told["field"]).startswith("/load")
        instead = _other_load(remedy.build, question, build) if of_load else None
    return None if instead is None else order_free(instead)


def _other_parts(remedy: Remedy, question: Body, build: Build) -> Body | None:
    part = next((each.part for each in remedy.build.parts if each.part.kind == remedy.kind), None)
    if part is not None and check_part(part):
        return None  # of the factory's part not enough is known to ask for another one like it
    others = _entries_but(question, build, remedy.kind)
    load = {"load": question["load"]} if "load" in question else {}
    return {"parts": [*others, *([{"part": body_of(part)}] if part is not None else [])], **load}


def _entries_but(question: Body, build: Build, kind: str) -> list[Body]:
    """The request's entries but those of one kind; a kit that holds one is taken apart."""
    entries: list[Body] = question["parts"]
    inside: dict[int, list[Any]] = {index: [] for index in range(len(entries))}
    for proposed in build.parts:
        inside[int(proposed.pointer.split("/")[2])].append(proposed)
    kept: list[Body] = []
    for index, entry in enumerate(entries):
        if not any(proposed.part.kind == kind for proposed in inside[index]):
            kept.append(entry)
        else:
            kept += [
                {"sku": each.name, "quantity": each.quantity}
                for each in inside[index]
                if each.part.kind != kind and each.name
            ]
    return kept


def _other_load(mended: Build, question: Body, build: Build) -> Body:
    """Everything on board mass by mass, also what was named among the parts."""
    return {"parts": _entries_but(question, build, Accessory.kind), "load": body_of(mended.load)}
