"""From the form to a question: the same one that a client of the API would put, checked in the same way."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fastapi.exceptions import RequestValidationError
from sqlalchemy import Connection

from service.api.body import MalformedBodyError, parse
from service.api.questions import asked, read_question
from service.api.words import body_fault
from service.catalogue.references import Lookup
from service.catalogue.suited import SuitedPart, suited
from service.counter.form import Form, Mass
from service.counter.language.english import ENGLISH
from service.engine.refusal import Fault, RefusedError

Question = dict[str, Any]
NUMBER = re.compile(r"([+-]?)([0-9]+|(?=[.,]))(?:[.,]([0-9]+))?")
"""Sign, whole number and decimals."""


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


def found_by_name(connection: Connection, form: Form, named: list[Named]) -> list[Named]:
    """The same, where what is no SKU is the name of one part alone that is sold for the form's axle: that part."""
    if all(each.kind for each in named):
        return named
    called: dict[str, list[SuitedPart]] = {}
    for part in suited(connection, (form.vehicle, "rear" if form.end == "rear" else "front")):
        called.setdefault(part.name.casefold(), []).append(part)

    def found(each: Named) -> Named:
        parts = [] if each.kind else called.get(each.sku.casefold(), [])
        return Named(parts[0].sku, parts[0].name, parts[0].kind) if len(parts) == 1 else each

    return [found(each) for each in named]


def question_of(form: Form, named: list[Named]) -> Question:
    """The checked question of a form. Raises ``RefusedError``, whose pointers are into the question."""
    unknown = [
        *(Fault(f"?{name}", "is not known here: check how it is spelt") for name in form.strange),
        *(Fault(f"?{name}", "is stated more than once, and not alike") for name in form.contrary),
        *(_fault("/parts", "sku", each.sku) for each in named if not each.kind),
    ]
    if unknown:
        raise RefusedError(unknown)
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
    """A number as people type it, with a point or a comma before its decimals. Raises ``RefusedError``.

    Three decimals behind one to three digits may as well be thousands: that is refused, as nobody can tell.

    >>> number_of("12,5", "/x"), number_of("−0.125", "/x")
    (12.5, -0.125)
    """
    typed = text.strip()
    number = NUMBER.fullmatch(typed.replace("−", "-"))
    if number is None:
        raise RefusedError([_fault(pointer, "number" if typed else "empty", typed)])
    sign, whole, decimals = number.groups(default="")
    if len(decimals) == 3 and len(whole) <= 3 and whole[:1] not in ("", "0"):
        written = decimals.rstrip("0")
        exactly = {"": whole, decimals: f"{whole}.{decimals}0"}.get(written, f"{whole}.{written}")
        raise RefusedError([_fault(pointer, "thousands", typed, whole=sign + whole + decimals, decimal=sign + exactly)])
    return float(f"{sign}{whole}.{decimals}")


def reading_of(text: str, pointer: str) -> float | dict[str, float]:
    """A number as people type it, or one with how surely it is known. Raises ``RefusedError``.

    >>> reading_of("230 ± 2", "/x")
    {'value': 230.0, 'plus_minus': 2.0}
    """
    value, sign, half_width = text.replace("+-", "±").partition("±")
    if not sign:
        return number_of(value, pointer)
    if not half_width.strip():
        raise RefusedError([_fault(pointer, "half_width", text)])
    return {"value": number_of(value, pointer), "plus_minus": number_of(half_width, pointer)}


def part_of(text: str) -> dict[str, Any]:
    """A part that is in no catalogue, from its JSON. Raises ``RefusedError``."""
    try:
        part = parse(text.encode())
    except MalformedBodyError:
        part = None
    if not isinstance(part, dict):
        raise RefusedError([_fault("/parts", "part")])
    return part


def _mass(mass: Mass) -> dict[str, Any]:
    named = {"name": mass.name} if mass.name else {}
    return {
        **named,
        "mass_kg": reading_of(mass.mass_kg, "/load/accessories/mass_kg"),
        "behind_front_axle_mm": reading_of(mass.behind_front_axle_mm, "/load/accessories/behind_front_axle_mm"),
    }


def _fault(pointer: str, why: str, typed: str = "", **values: str) -> Fault:
    return Fault(pointer, ENGLISH[f"fault_{why}"].format(typed=typed[:40], **values))


def _faults(error: RequestValidationError, question: Question) -> list[Fault]:
    def each() -> Iterator[Fault]:
        for fault in error.errors():
            yield body_fault(fault, question)

    return list(each())
