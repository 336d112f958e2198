"""What stands in one cell of a CSV file: from text to a value, and back to the same text."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from service.api.body import MalformedBodyError, parse
from service.database import canonical

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
WHOLE = re.compile(r"[+-]?\d{1,15}", re.ASCII)
SHOWN = 40
"""Of a cell that cannot be read, at most so many signs are told back."""


@dataclass(frozen=True, slots=True)
class CellForm:
    """How a cell is read and written. ``read`` raises ``ValueError`` with the reason, in a fitter's words."""

    read: Callable[[str], Any]
    write: Callable[[Any], str]


def _number(text: str) -> float:
    """A number with a decimal point.

    >>> _number(" 16.5 ")
    16.5
    """
    stripped = text.strip()
    if not NUMBER.fullmatch(stripped):
        hint = " written with a decimal point" if "," in stripped else ""
        raise ValueError(f"must be a number{hint}, not {shortened(text)}")
    return float(stripped)


def _write_number(value: float) -> str:
    """The shortest text that reads back as the same number.

    >>> _write_number(20.0), _write_number(0.05)
    ('20', '0.05')
    """
    return repr(float(value)).removesuffix(".0")


def _whole(text: str) -> int:
    if not WHOLE.fullmatch(text.strip()):
        raise ValueError(f"must be a whole number, not {shortened(text)}")
    return int(text)


def _boolean(text: str) -> bool:
    word = text.strip().lower()
    if word not in ("true", "false"):
        raise ValueError(f"must be true or false, not {shortened(text)}")
    return word == "true"


def _names(text: str) -> list[str]:
    """Names with semicolons between them.

    >>> _names("tarn-300/front; tarn-310")
    ['tarn-300/front', 'tarn-310']
    """
    return [name.strip() for name in text.split(";")]


def structure_cell(example: str) -> CellForm:
    """A cell with JSON in it, such as the example."""

    def read(text: str) -> Any:
        try:
            return parse(text.encode())
        except MalformedBodyError as error:
            raise ValueError(f"must be JSON, such as {example}: {error.detail}") from None

    return CellForm(read, lambda value: canonical(value).decode())


def refusing_cell(reason: str) -> CellForm:
    """A cell that must be empty."""

    def refuse(_text: str) -> Any:
        raise ValueError(reason)

    return CellForm(refuse, str)


def shortened(text: str) -> str:
    """The text in quotes, cut where it is long."""
    return repr(text if len(text) <= SHOWN else text[:SHOWN] + "…")


NUMBER_CELL = CellForm(_number, _write_number)
WHOLE_CELL = CellForm(_whole, str)
BOOLEAN_CELL = CellForm(_boolean, lambda value: "true" if value else "false")
TEXT_CELL = CellForm(str, str)
NAMES_CELL = CellForm(_names, ";".join)
STRUCTURE_CELL = structure_cell("[[40, 2480], [80, 5360]]")
KIT_CELL = structure_cell('[{"sku": "ABC-1", "quantity": 2}]')
