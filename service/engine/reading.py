"""A measured or catalogued value with the half-width of the interval that surely holds it."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

RECTANGULAR = 1.0 / sqrt(3.0)
"""Standard uncertainty of a rectangular distribution of half-width 1 (JCGM 100:2008, 4.3.7)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value and its half-width, both in the unit that the field's name carries.

    ``plus_minus`` is the half-width of the interval that surely holds the true value (>= 0); ``None`` means that
    nobody stated one, and the policy's default for that kind of reading applies.

    >>> Reading(226.0, 2.0).half_width(default=1.0)
    2.0
    >>> Reading(226.0).half_width(default=1.0)
    1.0
    """

    value: float
    plus_minus: float | None = None

    def half_width(self, default: float) -> float:
        return default if self.plus_minus is None else self.plus_minus


def standard_uncertainty(half_width: float) -> float:
    """Standard uncertainty of a reading that is surely within ``half_width`` (JCGM 100:2008, 4.3.7).

    >>> round(standard_uncertainty(2.0), 4)
    1.1547
    """
    return half_width * RECTANGULAR
