"""Whether one row may enter the catalogue, judged by itself: the schema of its body, and the physics."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from service.api.interchange.columns import PART_MODELS, column_at
from service.api.interchange.rows import Row, RowFault
from service.api.named import body_named
from service.api.schemas.axle import MeasuredAxle
from service.api.schemas.catalogued_parts import SEARCHED
from service.api.schemas.values import Strict
from service.api.schemas.vehicle import Vehicle
from service.api.words import body_fault
from service.catalogue.bulk import Offered
from service.catalogue.checking import check_catalogued_part, check_masses
from service.catalogue.revisions import AXLES, PARTS, VEHICLES, Shelf
from service.engine.refusal import Fault, RefusedError

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Admitted:
    """A row that is right by itself, and what it puts on which shelf."""

    row: Row
    shelf: Shelf
    offered: Offered

    def refused(self, fault: Fault) -> RowFault:
        return row_fault(self.row, fault)


def row_fault(row: Row, fault: Fault) -> RowFault:
    """A fault of a body as one of the row that it came from."""
    column = column_at(fault.pointer)
    if row.file.form == "jsonl" and fault.pointer:
        column = fault.pointer.split("/")[1]
    return RowFault(row.file.name, row.line, column, fault.detail, fault.pointer or None)


def admit(row: Row) -> Admitted | list[RowFault]:
    """What a row offers to the catalogue, or everything that is wrong with it.

    Of one with cells that cannot be read the others are held against the schema alone: what the physics would miss may
    stand in those.
    """
    found: Sequence[Fault] = ()
    try:
        shelf, offered = _offer(row)
    except ValidationError as error:
        found = [body_fault({**each, "loc": ("body", *each["loc"])}, row.body) for each in error.errors()]
    except RefusedError as error:
        found = () if row.faults else error.faults
    else:
        if not row.faults:
            return Admitted(row, shelf, offered)
    unread = {fault.pointer for fault in row.faults}
    return [*row.faults, *(row_fault(row, fault) for fault in found if fault.pointer not in unread)]


def _offer(row: Row) -> tuple[Shelf, Offered]:
    if "vehicle_id" in row.body:
        return VEHICLES, _vehicle(row.body)
    if "vehicle" in row.body or "end" in row.body:
        return AXLES, _axle(row.body)
    kind = row.body.get("kind", row.file.kind)
    if kind is None and "sku" not in row.body:
        detail = "is no part (sku, kind), no vehicle (vehicle_id) and no axle (vehicle, end)"
        raise RefusedError([Fault("", detail)])
    return PARTS, _part({**row.body, "kind": kind})


def _part(body: Body) -> Offered:
    kind = body["kind"]
    model = PART_MODELS.get(kind) if isinstance(kind, str) else None
    if model is None:
        wrong = "is missing" if kind is None else "is no kind of part"
        raise RefusedError([Fault("/kind", f"{wrong}. Kinds: {', '.join(PART_MODELS)}.")])
    sku, checked = body_named("sku", model.model_validate(body))
    check_catalogued_part(checked)
    return Offered((sku,), checked, {name: checked[name] for name in SEARCHED})


def _vehicle(body: Body) -> Offered:
    name, checked = body_named("vehicle_id", Vehicle.model_validate(body))
    check_masses(checked["vehicle_masses"])
    return Offered((name,), checked)


def _axle(body: Body) -> Offered:
    axle = MeasuredAxle.model_validate(body)
    return Offered((_stated("vehicle", axle.vehicle), _stated("end", axle.end)), _envelope(axle))


def _envelope(axle: Strict) -> Body:
    return axle.model_dump(exclude_none=True)


def _stated(field: str, value: str | None) -> str:
    if value is None:
        raise RefusedError([Fault(f"/{field}", "is missing")])
    return value
