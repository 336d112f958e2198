"""How numbers leave the engine: rounded far below any reading, and none where nothing is known."""

from __future__ import annotations

import math

from service.engine.told import COVERAGE

DIGITS = 4
"""Decimals of a reported number: a tenth of a micrometre."""


def number(value: float) -> float | None:
    """A plain number for JSON, or none.

    >>> number(168.60000001), number(float("nan"))
    (168.6, None)
    """
    return round(value, DIGITS) + 0.0 if math.isfinite(value) else None


def measured(value: float, spread: float) -> dict[str, object] | None:
    """A result with its expanded uncertainty (k = 2); none where it is not known."""
    if not math.isfinite(value) or not math.isfinite(spread):
        return None
    return {"value": number(value), "plus_minus": number(COVERAGE * spread)}
