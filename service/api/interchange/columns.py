"""The columns of a CSV file of one part kind, taken from the schema of that kind.

A column is named as the field is, unit and all. A reading has a second one, ``…_plus_minus``, for its half-width.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args

from service.api.interchange.cells import (
    BOOLEAN_CELL,
    KIT_CELL,
    NAMES_CELL,
    NUMBER_CELL,
    STRUCTURE_CELL,
    TEXT_CELL,
    WHOLE_CELL,
    CellForm,
)
from service.api.schemas.catalogued_parts import Catalogued, CataloguedPart, KitEntry
from service.api.schemas.values import Measured

HALF_WIDTH = "_plus_minus"
FIRST = ("sku", "kind", "name", "supplier", "status", "fits")
"""What every file of parts begins with."""

_FORMS = {
    "number": NUMBER_CELL,
    "integer": WHOLE_CELL,
    "boolean": BOOLEAN_CELL,
    "string": TEXT_CELL,
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: of which field, in what form, and whether it holds that field's half-width."""

    name: str
    field: str
    form: CellForm
    half_width: bool = False


def _kind_of(model: type[Catalogued]) -> str:
    (kind,) = get_args(model.model_fields["kind"].annotation)
    return str(kind)


PART_MODELS: dict[str, type[Catalogued]] = {_kind_of(model): model for model in get_args(get_args(CataloguedPart)[0])}
"""Kind -> schema of a catalogued part of that kind."""


@cache
def columns_of(kind: str) -> tuple[Column, ...]:
    """Every column of a kind, in the order in which an export has them.

    >>> [column.name for column in columns_of("strut_top_spacer")][-2:]
    ['thickness_mm', 'thickness_mm_plus_minus']
    """
    properties: dict[str, Any] = PART_MODELS[kind].model_json_schema()["properties"]
    fields = {name: schema for name, schema in properties.items() if not schema.get("readOnly")}
    ordered = [*FIRST, *(name for name in fields if name not in FIRST)]
    return tuple(column for name in ordered for column in _columns(name, fields[name]))


def column_at(pointer: str) -> str | None:
    """The column in which a fault of a part's body lies.

    >>> column_at("/wire_mm/plus_minus"), column_at("/force_table/3"), column_at("")
    ('wire_mm_plus_minus', 'force_table', None)
    """
    field, _, rest = pointer.removeprefix("/").partition("/")
    return (field + HALF_WIDTH if rest == "plus_minus" else field) or None


def _columns(field: str, schema: dict[str, Any]) -> Iterator[Column]:
    stated = [each for each in schema.get("anyOf", [schema]) if each.get("type") != "null"]
    value = stated[0] if len(stated) == 1 else {}
    if any(str(each.get("$ref", "")).endswith(f"/{Measured.__name__}") for each in value.get("oneOf", ())):
        yield Column(field, field, NUMBER_CELL)
        yield Column(field + HALF_WIDTH, field, NUMBER_CELL, half_width=True)
    elif value.get("type") == "array" and value["items"].get("type") == "string":
        yield Column(field, field, NAMES_CELL)
    elif value.get("type") == "array" and str(value["items"].get("$ref", "")).endswith(f"/{KitEntry.__name__}"):
        yield Column(field, field, KIT_CELL)
    else:
        yield Column(field, field, _FORMS.get(value.get("type", ""), STRUCTURE_CELL))
