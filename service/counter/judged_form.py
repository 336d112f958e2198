"""The page's form, judged: its verdict, the factory's for comparison, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import orjson

from service.catalogue.revisions import AXLES, current
from service.counter.alternatives import Alternative, alternatives
from service.counter.choices import Choice, vehicle_named, vehicles_like
from service.counter.form import Form
from service.counter.instead import Limits
from service.counter.question import Named, Question, found_by_name, names_of, question_of
from service.counter.readings import with_readings
from service.database import utc_now
from service.engine.refusal import Fault, RefusedError
from service.judging.judge import judge
from service.web import Service

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class JudgedForm:
    """``vehicles`` are those that the typed vehicle may mean; ``record`` is none where it is not one of them, or where
    ``faults`` say why. ``put_aside`` are readings that were typed, and do not count as another axle was measured.
    """

    form: Form
    vehicle: Choice | None
    vehicles: list[Choice]
    named: list[Named]
    question: Question | None = None
    record: Record | None = None
    factory: Record | None = None
    alternatives: tuple[Alternative, ...] = ()
    limits: Limits = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    put_aside: Mapping[str, str] = field(default_factory=dict)


def judged_form(service: Service, form: Form) -> JudgedForm:
    """Judge what the form states; nothing is kept."""
    vehicles = _vehicles(service, form.vehicle)
    catalogue = service.references.standing()
    named = names_of(catalogue, form)
    if len(vehicles) != 1:
        return JudgedForm(form, None, vehicles if form.vehicle else [], named)
    typed, form = form.readings, replace(form, vehicle=vehicles[0].value).with_readings_of_its_axle()
    with service.database.reading() as connection:
        named = found_by_name(connection, form, named)
    put_aside = {pointer: text for pointer, text in typed.items() if pointer not in form.readings}
    found = JudgedForm(form, vehicles[0], vehicles, named, put_aside=put_aside)
    try:
        question = question_of(form, named)
        record = _verdict(service, question)  # with the catalogue's axle, so that parts sold for another are refused
        with service.database.reading() as connection:
            found = replace(found, limits=current(connection, AXLES, (form.vehicle, form.end)).body.get("limits", {}))
            if form.readings:
                question = with_readings(connection, question, form.readings)
        if form.readings:
            record = _verdict(service, question)
    except RefusedError as error:
        return replace(found, faults=error.faults)
    factory, refused = _verdict(service, at_factory(question)), record["verdict"] != "clear" and question["parts"]
    others = alternatives(service, form, named, record, question) if refused else []
    return replace(found, question=question, record=record, factory=factory, alternatives=tuple(others))


def at_factory(question: Question) -> Question:
    """The same axle as it left the factory, at kerb."""
    return {name: value for name, value in question.items() if name not in ("load", "target_lift_mm")} | {"parts": []}


def _verdict(service: Service, question: Question) -> Record:
    record: Record = orjson.loads(judge(service.references.standing(), question).body(None, utc_now()))
    return record


def _vehicles(service: Service, typed: str) -> list[Choice]:
    with service.database.reading() as connection:
        if typed and (named := vehicle_named(connection, typed)):
            return [named]
        found = vehicles_like(connection, typed) if typed else []
    exactly = [vehicle for vehicle in found if typed == vehicle.label]
    return exactly or found
