"""The first bound: what fails already as it is read cannot be clear, whatever the uncertainty.

A check is clear only if margin - reserve >= guard x u, and u is never negative; so a margin below its reserve is enough
to know. Computing the estimate alone takes a tenth of the time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.brought import Brought, Flags
from service.engine.checks import Finding
from service.engine.decided import applying, findings_of, headings_for
from service.engine.rows import Rows
from service.engine.sensitivity import Array

SLACK = 1e-3
"""How much worse than its reserve a margin must be before it is believed: far above rounding, far below any reading."""


@dataclass(frozen=True, slots=True)
class AsRead:
    """``fails`` (f, n): findings that keep their check from being clear; ``lift_mm`` (n,), not-a-number where unknown.

    ``unsafe`` (n,): a required margin is below zero, so that it conforms with a probability of a half at most.
    """

    findings: tuple[Finding, ...]
    fails: Flags
    lift_mm: Array
    unsafe: Flags

    def failing(self, of: Flags | None = None) -> tuple[tuple[str, ...], Flags]:
        """Checks, and whether each fails (checks, n); of the findings flagged ``of`` (f,) alone."""
        return by_check([f.label.check for f in self.findings], self.fails if of is None else self.fails & of[:, None])


def as_read(brought: Brought) -> AsRead:
    """What fails in builds already as they are read."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        rows = Rows(brought, as_read=True)
        positions, findings = findings_of(rows)
        margin, bound, short = (
            _first_columns([getattr(f, name) for f in findings], brought.count)
            for name in ("margin", "bound", "short_of_factory")
        )
        headings = headings_for(findings, rows)
        required = headings.required
        no_excuse = ~(short >= -SLACK)
        known = np.isfinite(margin)
        fails = np.where(known, margin < headings.reserves - SLACK, required) & no_excuse
        fails |= ~known & (bound < -SLACK)
        lift = np.broadcast_to(positions.lift_mm[:, 0], brought.count)
    flags = applying(findings, rows)
    below_zero = known & (margin < -SLACK) & required
    return AsRead(tuple(findings), np.asarray(fails & flags), lift, np.any(below_zero & flags, axis=0))


def by_check(checks: Sequence[str], flags: Flags) -> tuple[tuple[str, ...], Flags]:
    """Flags (f, n) of findings as flags (checks, n) of their checks: set where any finding's is."""
    names = tuple(dict.fromkeys(checks))
    of = np.array([[check == name for check in checks] for name in names])
    return names, np.asarray((of.astype(np.int32) @ flags.astype(np.int32)) > 0)


def _first_columns(quantities: Sequence[Array], count: int) -> Array:
    return np.array([np.broadcast_to(quantity[:, 0], count) for quantity in quantities])
