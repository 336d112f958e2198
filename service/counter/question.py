"""From the form to a question: the same one that a client of the API would put, checked in the same way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fastapi.exceptions import RequestValidationError

from service.api.body import MalformedBodyError, parse
from service.api.questions import asked, read_question
from service.api.words import body_fault
from service.catalogue.references import Lookup
from service.counter.form import Form, Mass
from service.engine.refusal import Fault, RefusedError

Question = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Named:
    """A SKU of the form as the catalogue writes it, with its name; ``kind`` is empty where it is not known."""

    sku: str
    name: str
    kind: str


def names_of(catalogue: Lookup, form: Form) -> list[Named]:
    """What the form's SKUs are. A scanner or a hurried hand may have them in small letters."""
    heads = catalogue.heads(None, {*form.skus, *(sku.upper() for sku in form.skus)})[1]
    named: list[Named] = []
    for typed in form.skus:
        sku = typed if typed in heads else typed.upper() if typed.upper() in heads else typed
        if sku in heads:
            part = catalogue.part(sku, heads[sku].revision)
            named.append(Named(sku, part.name, part.kind))
        else:
            named.append(Named(sku, "", ""))
    return named


def question_of(form: Form, named: list[Named]) -> Question:
    """The checked question of a form. Raises ``RefusedError``, whose pointers are into the question."""
    parts = Counter(each.sku for each in named if each.kind != "accessory")
    accessories = Counter(each.sku for each in named if each.kind == "accessory")
    question: Question = {
        "axle": {"vehicle": form.vehicle, "end": form.end},
        "parts": [
            *({"sku": sku, "quantity": number} for sku, number in parts.items()),
            *({"part": part_of(text)} for text in form.parts),
        ],
        "duty": form.duty,
    }
    load: dict[str, Any] = {}
    catalogued = [{"sku": sku, "quantity": number} for sku, number in accessories.items()]
    if catalogued or form.masses:
        load["accessories"] = [*catalogued, *map(_mass, form.masses)]
    if form.occupants_kg:
        load["occupants_kg"] = reading_of(form.occupants_kg, "/load/occupants_kg")
    if load:
        question["load"] = load
    if form.target_lift_mm:
        question["target_lift_mm"] = number_of(form.target_lift_mm, "/target_lift_mm")
    return checked(question)


def checked(question: Question) -> Question:
    """A question after the API's own check, with its defaults. Raises ``RefusedError``."""
    try:
        return asked(read_question(question)).question
    except RequestValidationError as error:
        raise RefusedError(_faults(error, question)) from None


def number_of(text: str, pointer: str) -> float:
    """A number as people type it. Raises ``RefusedError``.

    >>> number_of("12,5", "/x")
    12.5
    """
    try:
        return float(text.replace(",", ".").replace("−", "-"))
    except ValueError:
        raise RefusedError([Fault(pointer, f"must be a number, not “{text[:40]}”")]) from None


def reading_of(text: str, pointer: str) -> float | dict[str, float]:
    """A number as people type it, or one with how surely it is known. Raises ``RefusedError``.

    >>> reading_of("230 ± 2", "/x")
    {'value': 230.0, 'plus_minus': 2.0}
    """
    value, _, half_width = text.replace("+-", "±").partition("±")
    if not half_width:
        return number_of(value, pointer)
    return {"value": number_of(value, pointer), "plus_minus": number_of(half_width, pointer)}


def part_of(text: str) -> dict[str, Any]:
    """A part that is in no catalogue, from its JSON. Raises ``RefusedError``."""
    try:
        part = parse(text.encode())
    except MalformedBodyError:
        part = None
    if not isinstance(part, dict):
        raise RefusedError(
            [Fault("/parts", "A part that is in no catalogue cannot be read: take it out and add it anew.")]
        )
    return part


def _mass(mass: Mass) -> dict[str, Any]:
    named = {"name": mass.name} if mass.name else {}
    return {
        **named,
        "mass_kg": reading_of(mass.mass_kg, "/load/accessories/mass_kg"),
        "behind_front_axle_mm": reading_of(mass.behind_front_axle_mm, "/load/accessories/behind_front_axle_mm"),
    }


def _faults(error: RequestValidationError, question: Question) -> list[Fault]:
    def each() -> Iterator[Fault]:
        for fault in error.errors():
            yield body_fault(fault, question)

    return list(each())
