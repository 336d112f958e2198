"""How numbers leave the engine: rounded far below any reading, and none where nothing is known."""

from __future__ import annotations

from math import isfinite

from service.engine.settled import COVERAGE, DIGITS


def number(value: float) -> float | None:
    """A rounded number for JSON, or none.

    >>> number(168.6), number(float("nan"))
    (168.6, None)
    """
    return value if isfinite(value) else None


def result(value: float, plus_minus: float) -> dict[str, object] | None:
    """A rounded result with its expanded uncertainty; none where it is not known."""
    return {"value": value, "plus_minus": plus_minus} if isfinite(value) and isfinite(plus_minus) else None


def measured(value: float, spread: float) -> dict[str, object] | None:
    """A result from a standard uncertainty (k = 2), both still to be rounded.

    >>> measured(168.60000001, 0.5)
    {'value': 168.6, 'plus_minus': 1.0}
    """
    return result(round(value, DIGITS) + 0.0, round(COVERAGE * spread, DIGITS))
