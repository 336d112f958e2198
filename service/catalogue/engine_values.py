"""From JSON bodies to the engine's frozen values, by the type that each of their fields declares."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from service.engine.parts import PART_KINDS, Part
from service.engine.reading import Reading

Value = TypeVar("Value")
Converter = Callable[[Any], Any]


def engine_value(kind: type[Value], body: Mapping[str, Any]) -> Value:
    """The engine's value of a checked body; names that the engine does not know belong to the catalogue.

    >>> from service.engine.parts import StrutTopSpacer
    >>> engine_value(StrutTopSpacer, {"kind": "strut_top_spacer", "sku": "X", "thickness_mm": 20})
    StrutTopSpacer(thickness_mm=Reading(value=20.0, plus_minus=None))
    """
    converters = _converters(kind)  # type: ignore[arg-type]
    stated = {name: body[name] for name in converters if body.get(name) is not None}
    return kind(**{name: converters[name](value) for name, value in stated.items()})


def engine_part(body: Mapping[str, Any]) -> Part:
    """The part that a body with its ``kind`` describes."""
    return engine_value(PART_KINDS[body["kind"]], body)


def reading(value: float | Mapping[str, float]) -> Reading:
    """A plain number, or one with its half-width.

    >>> reading({"value": 226.0, "plus_minus": 2.0})
    Reading(value=226.0, plus_minus=2.0)
    """
    if isinstance(value, Mapping):
        return Reading(float(value["value"]), float(value["plus_minus"]))
    return Reading(float(value))


def body_of(value: Any) -> dict[str, Any]:
    """The body that describes one of the engine's values, the way back of ``engine_value``; of a part with its kind.

    >>> from service.engine.parts import StrutTopSpacer
    >>> body_of(StrutTopSpacer(Reading(20.0)))
    {'kind': 'strut_top_spacer', 'thickness_mm': 20.0}
    """
    stated = {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    kind = {"kind": value.kind} if hasattr(value, "kind") else {}
    return kind | {name: plain for name, plain in stated.items() if plain not in (None, "")}


def _plain(value: Any) -> Any:
    if isinstance(value, Reading):
        return value.value if value.plus_minus is None else {"value": value.value, "plus_minus": value.plus_minus}
    if is_dataclass(value):
        return body_of(value)
    return [_plain(each) for each in value] if isinstance(value, tuple) else value


@cache
def _converters(kind: Any) -> dict[str, Converter]:
    hints = get_type_hints(kind)
    return {field.name: _converter(hints[field.name]) for field in fields(kind)}


def _converter(hint: Any) -> Converter:
    origin, inner = get_origin(hint), [each for each in get_args(hint) if each is not NoneType]
    if origin in (Union, UnionType) and len(inner) == 1:
        return _converter(inner[0])
    if hint in _PLAIN:
        return _PLAIN[hint]
    if origin is Literal:
        return _as_it_is
    if is_dataclass(hint) and isinstance(hint, type):
        return lambda body: engine_value(hint, body)
    return _COLLECTIONS[origin](inner)


def _as_it_is(value: Any) -> Any:
    return value


def _dict_converter(inner: list[Any]) -> Converter:
    of_value = _converter(inner[1])
    return lambda body: {name: of_value(value) for name, value in body.items() if value is not None}


def _tuple_converter(inner: list[Any]) -> Converter:
    if inner[-1] is Ellipsis:
        of_item = _converter(inner[0])
        return lambda items: tuple(of_item(item) for item in items)
    of_each = [_converter(each) for each in inner]
    return lambda items: tuple(convert(item) for convert, item in zip(of_each, items, strict=True))


_PLAIN: dict[Any, Converter] = {Reading: reading, float: float, str: _as_it_is, bool: _as_it_is, int: _as_it_is}
_COLLECTIONS: dict[Any, Callable[[list[Any]], Converter]] = {tuple: _tuple_converter, dict: _dict_converter}
