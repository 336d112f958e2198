"""Combinations evaluated with all their uncertainty, and the figures by which they are ranked."""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, sqrt

import numpy as np
from numpy.typing import NDArray

from service.engine.brought import Brought, Flags
from service.engine.decided import Decided, applying, decided, findings_of, reduced
from service.engine.decision import CLEAR, MARGINAL
from service.engine.rows import Rows
from service.engine.search.as_read import by_check
from service.engine.sensitivity import Array
from service.engine.settled import rounded


@dataclass(frozen=True, slots=True)
class InFull:
    """Of n combinations: how many checks ``hold`` each back from being clear, its lift, and the greatest probability
    that a required check does not conform, not-a-number where no margin is known; (n,) each.
    """

    hold: NDArray[np.intp]
    lift_mm: Array
    nonconformity: Array


def in_full(brought: Brought) -> InFull:
    """What the engine says of combinations."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        rows = Rows(brought)
        positions, findings = findings_of(rows)
        result = decided(findings, rows)
        lift, _ = reduced([positions.lift_mm], rows)
        required = result.headings.required
        holding = np.where(required, result.codes > CLEAR, result.codes == MARGINAL)
        _, held = by_check([f.label.check for f in findings], holding)
        return InFull(held.sum(axis=0), lift[0], _nonconformity(result, required & applying(findings, rows)))


def _nonconformity(result: Decided, counting: Flags) -> Array:
    """1 - P(margin >= 0) of the required check with the least to spare, to six digits (JCGM 106:2012, 7.3)."""
    margin, spread = rounded(result.judged[:, 0]), rounded(result.spreads[:, 0])
    known = counting & np.isfinite(margin) & np.isfinite(spread)
    in_spreads = np.where(spread == 0.0, np.where(margin >= 0.0, np.inf, -np.inf), margin / spread)
    least = np.where(known, in_spreads, np.inf).min(axis=0)
    told = [round(0.5 * erfc(each / sqrt(2.0)), 6) for each in least.tolist()]
    return np.where(known.any(axis=0), told, np.nan)
