"""What would mend a build as a build of its own: the form with one remedy in place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from service.counter.form import Form, Mass
from service.counter.language.reader import Reader
from service.database import canonical

Remedy = Mapping[str, Any]
Body = Mapping[str, Any]
Limits = Mapping[str, Mapping[str, Any]]


def form_with(form: Form, remedy: Remedy, limits: Limits) -> Form | None:
    """The form with a remedy in place; none where nothing of it can be stated at the counter.

    The range of the axle's own joint becomes a reading, as if it had been measured: so one sees what it would bring.
    ``limits`` are those of the axle, which say how surely such a range is known.
    """
    if remedy["instead"] is not None:
        return form_of_parts(form, remedy["instead"]["parts"], remedy["instead"].get("load") or {})
    if str(remedy["field"]).startswith("/axle/limits/"):
        joint, field = remedy["field"].split("/")[-2:]
        known, reading = limits.get(joint, {}).get(field), remedy["becomes"]
        if isinstance(known, Mapping) and remedy["field"] not in form.readings:
            reading = {**known, "value": reading}
        readings = {**form.readings, remedy["field"]: typed(reading)}
        return replace(form, readings=readings, measured_on=form.axle)
    return None


def form_of_parts(form: Form, parts: Iterable[Body], load: Body) -> Form:
    """The same axle with other parts and another load. What was measured of a part is in the part by now."""
    entries, accessories = list(parts), load.get("accessories", ())
    occupants = load.get("occupants_kg")
    return replace(
        form,
        skus=tuple(_skus((*entries, *accessories))),
        parts=tuple(_texts(entries)),
        masses=tuple(_mass(entry) for entry in accessories if "sku" not in entry),
        occupants_kg="" if occupants is None else typed(occupants),
        readings={pointer: text for pointer, text in form.readings.items() if not pointer.startswith("/parts/")},
    )


def typed(reading: float | Body) -> str:
    """A reading as one would type it.

    >>> typed(12.5), typed({"value": 230, "plus_minus": 2})
    ('12.5', '230 ± 2')
    """
    if isinstance(reading, Mapping):
        return f"{_number(reading['value'])} ± {_number(reading['plus_minus'])}"
    return _number(reading)


def _number(value: float) -> str:
    """Never with three decimals alone, which could be read as thousands.

    >>> _number(160.125), _number(1e-5)
    ('160.1250', '0.00001')
    """
    text = f"{Decimal(f'{value:.10g}'):f}"
    return text + "0" if text[-4:-3] == "." else text


def called(part: Body, reader: Reader) -> str:
    """A part that is in no catalogue in a few words.

    >>> called({"kind": "strut_top_spacer", "thickness_mm": 12.5}, Reader())
    'strut top spacer, thickness 12.5 mm'
    """
    figures = [(name, value) for name, value in part.items() if name.endswith(("_mm", "_deg", "_n_per_mm"))][:3]
    words = [
        f"{reader.dimension(name)} {_written(value, reader)} {_unit(name)}"
        for name, value in figures
        if not isinstance(value, list)
    ]
    return ", ".join([reader.kind(part["kind"]), *words])


def _written(reading: float | Body, reader: Reader) -> str:
    return typed(reading).replace(".", ",") if reader.language == "de" else typed(reading)


def _unit(name: str) -> str:
    return "N/mm" if name.endswith("_n_per_mm") else "°" if name.endswith("_deg") else "mm"


def _skus(entries: Iterable[Body]) -> Iterable[str]:
    for entry in entries:
        if "sku" in entry:
            yield from [entry["sku"]] * entry.get("quantity", 1)


def _texts(entries: Iterable[Body]) -> Iterable[str]:
    for entry in entries:
        if "part" in entry:
            yield from [canonical(entry["part"]).decode()] * entry.get("quantity", 1)


def _mass(entry: Body) -> Mass:
    return Mass(entry.get("name", ""), typed(entry["mass_kg"]), typed(entry["behind_front_axle_mm"]))
