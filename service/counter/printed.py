"""The build in a line, for a page on paper: there the form is not seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from service.counter.form import Form, Mass
from service.counter.instead import called
from service.counter.judged_form import JudgedForm
from service.counter.language.reader import Reader
from service.counter.question import part_of
from service.engine.refusal import RefusedError


def printed(judged: JudgedForm, reader: Reader) -> list[tuple[str, str]]:
    """What was judged and when, as pairs of words; nothing where there is no verdict."""
    return list(_printed(judged, reader))


def words_of(part: str, reader: Reader) -> str:
    """A part that is in no catalogue, from its JSON, in a few words."""
    try:
        return called(part_of(part), reader)
    except (RefusedError, LookupError, TypeError, ValueError, AttributeError):
        return "?"


def _printed(judged: JudgedForm, reader: Reader) -> Iterator[tuple[str, str]]:
    if judged.record is None or judged.vehicle is None:
        return
    form = judged.form
    yield reader.say("vehicle"), f"{judged.vehicle.label} ({judged.vehicle.value})"
    yield reader.say("axle_end"), reader.say(form.end)
    parts = Counter(
        [*(f"{each.sku} {each.name}" for each in judged.named), *(words_of(part, reader) for part in form.parts)]
    )
    yield reader.say("parts"), "; ".join(_times(number, part) for part, number in parts.items()) or "–"
    carried = [*map(_carried, form.masses), *_occupants(form, reader)]
    if carried:
        yield reader.say("other_load"), "; ".join(carried)
    if form.target_lift_mm:
        yield reader.say("sheet_lift"), f"{form.target_lift_mm} mm"
    yield reader.say("duty"), reader.say("duty_" + form.duty)
    for pointer, text in form.readings.items():
        yield reader.reading(pointer), text
    yield reader.say("printed_on"), judged.record["provenance"]["evaluated_at"][:10]


def _times(number: int, part: str) -> str:
    return f"{number} × {part}" if number > 1 else part


def _carried(mass: Mass) -> str:
    return f"{mass.name or '–'} {mass.mass_kg} kg"


def _occupants(form: Form, reader: Reader) -> Iterator[str]:
    if form.occupants_kg:
        yield f"{reader.say('sheet_occupants')} {form.occupants_kg} kg"
