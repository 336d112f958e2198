"""What a check finds for every build at once; it decides nothing and never raises."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.engine.positions import Positions
from service.engine.rows import Rows
from service.engine.sensitivity import Array

Flags = NDArray[np.bool_]
NOT_KNOWN = np.full((1, 1), np.nan)
NOTHING_LEFT = np.zeros((1, 1))


@dataclass(frozen=True, slots=True)
class Situation:
    """All that a check may look at: the rows of builds, their positions and their factory axle's."""

    rows: Rows
    build: Positions
    factory: Positions


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """What a finding is about, the same for every build: one constant each, which equals itself alone.

    ``required`` checks can stop a sale, others reach marginal at most; ``bound_at`` is the position of the finding's
    bound; ``why_not`` says why the check does not apply where it does not; ``case`` tells the wordings of one check
    apart.
    """

    check: str
    at: str
    quantity: str
    required: bool = True
    bound_at: str = ""
    why_not: str = ""
    case: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One check at one position; arrays (n, K) in the quantity's unit, or (1, K) or (1, 1) where all builds agree.

    ``margin`` is not-a-number where it cannot be told. Then ``bound``, which the margin cannot exceed, may still
    condemn, and ``short_of_factory``, how far short of the factory build the part is taken (>= 0: no further), may
    still acquit. ``applies`` is a flag, or flags (n, 1).
    """

    label: Label
    value: Array
    limit: Array
    margin: Array
    applies: bool | Flags = True
    bound: Array = field(default_factory=lambda: NOT_KNOWN)
    short_of_factory: Array = field(default_factory=lambda: NOT_KNOWN)
    details: Mapping[str, Array] = field(default_factory=dict)
