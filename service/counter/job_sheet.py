"""The job sheet of a record: what a fitter takes along."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import orjson
from starlette.requests import Request

from service.catalogue.recorded import RecordedReferences
from service.catalogue.revisions import VEHICLES, at_revision
from service.counter.form import Form
from service.counter.instead import called, form_of_parts, typed
from service.counter.judged_form import at_factory
from service.counter.language.choice import reader_of
from service.counter.language.reader import Reader
from service.counter.pictures.qr import qr_drawing
from service.counter.pictures.shapes import Drawing
from service.counter.verdict_view import VerdictView, verdict_view
from service.database import utc_now
from service.engine import POLICIES
from service.engine.refusal import RefusedError
from service.judging.judge import judge
from service.ledger.kept import KeptRecord, kept_record
from service.web import Service, service_of

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class JobSheet:
    """``facts`` are what was asked, as pairs of words; ``qr`` has the record's ``address``; ``back`` is the counter on
    the same build, or empty where its axle is not the catalogue's.
    """

    reader: Reader
    record: Body
    view: VerdictView
    facts: list[tuple[str, str]]
    address: str
    qr: Drawing
    back: str


def job_sheet(request: Request, record_id: str) -> JobSheet:
    """The sheet of one record. Raises ``UnknownRecordError``."""
    service = service_of(request)
    reader = reader_of(request.query_params, request.headers.get("accept-language", ""))
    with service.database.reading() as connection:
        kept = kept_record(connection, record_id)
    question = orjson.loads(kept.request)
    view = verdict_view(kept.body, _factory(service, kept, question), reader)
    address = f"{request.base_url}v1/evaluations/{record_id}"
    facts = list(_facts(service, kept, question, reader))
    back = _form(question).address(lang=reader.language, units=reader.units)
    return JobSheet(reader, kept.body, view, facts, address, qr_drawing(address, reader.say("qr_title")), back)


def _form(question: Body) -> Form:
    """The counter's form that states a question; an empty one for an axle that is not the catalogue's."""
    axle = question["axle"]
    if "inline" in axle:
        return Form()
    lift = typed(question["target_lift_mm"]) if "target_lift_mm" in question else ""
    form = Form(axle["vehicle"], axle["end"], target_lift_mm=lift, duty=question["duty"])
    return form_of_parts(form, question["parts"], question.get("load", {}))


def _factory(service: Service, kept: KeptRecord, question: Body) -> Body | None:
    """The vehicle as it left the factory, by the same revisions; none where this engine cannot judge it any more."""
    if question["policy"] not in POLICIES:
        return None
    try:
        judged = judge(RecordedReferences(service.references, kept.revisions), at_factory(question))
    except RefusedError:
        return None
    record: Body = orjson.loads(judged.body(None, utc_now()))
    return record


def _facts(service: Service, kept: KeptRecord, question: Body, reader: Reader) -> Iterator[tuple[str, str]]:
    axle = question["axle"]
    name = axle.get("measured_on" if "inline" in axle else "vehicle")
    if name is not None:
        with service.database.reading() as connection:
            vehicle = at_revision(connection, VEHICLES, (name,), kept.revisions["vehicle"]).body
        yield reader.say("vehicle"), f"{vehicle['name']} ({name})"
    as_measured = f" ({reader.say('sheet_inline_axle')})" if "inline" in axle else ""
    yield reader.say("axle_end"), reader.say(axle.get("end", "front")) + as_measured
    parts = [_part(service, kept, entry, reader) for entry in question["parts"]]
    yield reader.say("sheet_parts"), "; ".join(parts) or reader.say("sheet_no_parts")
    load = question.get("load", {})
    carried = [_carried(service, kept, entry, reader) for entry in load.get("accessories", ())]
    if "occupants_kg" in load:
        occupants = reader.stated("occupants_kg", _value(load["occupants_kg"]))
        carried.append(f"{reader.say('sheet_occupants')} {occupants}")
    if carried:
        yield reader.say("sheet_load"), "; ".join(carried)
    yield reader.say("sheet_duty"), reader.say("duty_" + question["duty"])
    if "target_lift_mm" in question:
        yield reader.say("sheet_lift"), reader.figure("lift_mm", _value(question["target_lift_mm"]))


def _part(service: Service, kept: KeptRecord, entry: Body, reader: Reader) -> str:
    times = f"{entry['quantity']} × " if entry.get("quantity", 1) > 1 else ""
    if "part" in entry:
        return times + called(entry["part"], reader)
    part = service.references.part(entry["sku"], kept.revisions["parts"][entry["sku"]])
    inside = ", ".join(f"{quantity} × {sku}" if quantity > 1 else sku for sku, quantity in part.contents)
    return f"{times}{entry['sku']} {part.name}" + (f" ({inside})" if inside else "")


def _carried(service: Service, kept: KeptRecord, entry: Body, reader: Reader) -> str:
    if "sku" in entry:
        return _part(service, kept, entry, reader)
    return f"{entry.get('name', '–')} {reader.stated('mass_kg', _value(entry['mass_kg']))}"


def _value(reading: float | Body) -> float:
    return float(reading["value"] if isinstance(reading, dict) else reading)
