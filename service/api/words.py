"""What a refused field is told, in a fitter's words, and where in the request it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.api.schemas.values import (
    FITS_PATTERN,
    NAME_PATTERN,
    NO_CONTROL_SIGNS,
    NO_CONTROL_SIGNS_BUT_LINES,
    TIME_PATTERN,
)
from service.engine.refusal import Fault

ErrorDetails = Mapping[str, Any]

_NUMBER_TYPES = {"float_type", "float_parsing"}
_MESSAGES = {
    "missing": "is missing",
    "extra_forbidden": "is not known here: check how it is spelt",
    "finite_number": "must be a finite number",
    "int_type": "must be a whole number, not {given}",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_parsing": "must be true or false",
    "string_type": "must be text, not {given}",
    "bool_type": "must be true or false, not {given}",
    "list_type": "must be a list, not {given}",
    "model_type": "must be an object, not {given}",
    "model_attributes_type": "must be an object, not {given}",
    "dict_type": "must be an object, not {given}",
    "value_error": "cannot be: {error}",
    "literal_error": "must be {expected}",
    "union_tag_invalid": "must be one of {expected_tags}",
    "union_tag_not_found": "is missing: it says what kind of part this is",
    "greater_than_equal": "must be {ge:,.10g} or more",
    "less_than_equal": "must be {le:,.10g} or less",
    "string_pattern_mismatch": "is not written as it must be: {pattern}",
    "string_too_short": "must not be empty",
    "string_too_long": "must be at most {max_length} characters long",
    "too_long": "must have at most {max_length} entries",
    "too_short": "must have {min_length} or more entries",
}
_WRITTEN = {
    NAME_PATTERN: "must be of letters from A to Z, digits, dots, hyphens and underscores, up to 64 of them, and begin "
    "with a letter or a digit",
    FITS_PATTERN: "must be the id of a vehicle, alone or with /front or /rear behind it",
    NO_CONTROL_SIGNS: "must be one line of text, without control characters",
    NO_CONTROL_SIGNS_BUT_LINES: "must be text without control characters",
    TIME_PATTERN: "must be a time such as 2026-02-03T04:05:06Z",
}
"""What must be written otherwise, by its pattern."""


def words(error: ErrorDetails) -> str:
    """One sentence on what is wrong with a field."""
    given = kind_of_value(error.get("input"))
    if error["type"] in _NUMBER_TYPES:
        return f"must be a number, not {given}"
    if error["type"] == "int_type" and isinstance(error["input"], float):  # a fraction, or more than any bits hold
        return "is too large a number" if error["input"].is_integer() else _MESSAGES["int_from_float"]
    message = _WRITTEN.get(error.get("ctx", {}).get("pattern")) or _MESSAGES.get(error["type"])
    if message is None:
        return str(error["msg"])
    return message.format(given=given, **error.get("ctx", {}))


def kind_of_value(value: object) -> str:
    """A JSON value's type in words.

    >>> kind_of_value("12"), kind_of_value(True), kind_of_value(None)
    ('text', 'true or false', 'null')
    """
    if value is None:
        return "null"
    names = {str: "text", bool: "true or false", int: "a number", float: "a number", list: "a list", dict: "an object"}
    return names.get(type(value), "that")


def body_fault(error: ErrorDetails, body: object) -> Fault:
    """The fault of a validation error of the body, by its pointer."""
    return Fault(pointer(error["loc"][1:], body, error["type"]), words(error))


def pointer(location: Sequence[str | int], body: object, error_type: str) -> str:
    """RFC 6901 pointer of a validation error's location.

    The location also names the branches that a value was read by: the form of a union (marked ``#``), and the kind of a
    part. Neither is in the body, so both are left out here.
    """
    tokens: list[str] = []
    value, read_by_kind = body, None
    for index, item in enumerate(location):
        is_name = error_type == "extra_forbidden" and index == len(location) - 1
        if not is_name and isinstance(item, str) and item.startswith("#"):
            continue
        if value is not read_by_kind and _is_kind(value, item, tokens):
            read_by_kind = value
            continue
        tokens.append(str(item).replace("~", "~0").replace("/", "~1"))
        value = _below(value, item)
    if error_type.startswith("union_tag_"):
        tokens.append("kind")
    return "".join(f"/{token}" for token in tokens)


def _is_kind(value: object, item: str | int, tokens: list[str]) -> bool:
    """Parts stand at the top of a body or below ``part``; nothing else is read by its kind."""
    return tokens[-1:] in ([], ["part"]) and isinstance(value, dict) and value.get("kind") == item


def _below(value: object, item: str | int) -> object:
    if isinstance(value, dict):
        return value.get(item)
    if isinstance(value, list) and isinstance(item, int) and item < len(value):
        return value[item]
    return None
