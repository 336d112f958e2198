"""From rows of builds to what the checks find in them, and from that to outcomes and verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.checks import CHECKS, Finding, Situation
from service.engine.decision import (
    CLEAR,
    MARGINAL,
    NOT_APPLICABLE,
    NOTHING,
    UNDETERMINED,
    UNSAFE,
    Codes,
    guard_factor,
    no_further,
    outcomes,
    overall,
)
from service.engine.positions import Positions, positions_of
from service.engine.rows import Rows
from service.engine.sensitivity import Array, contributions


@dataclass(frozen=True, slots=True)
class Decided:
    """Outcome ``codes`` (f, n) of f findings on n builds, and the ``verdict`` (n,) on each build.

    ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness of the factory with their standard
    uncertainties; ``shares`` (f, 3, n, k) what each reading contributes to these. ``by_bound`` and ``by_factory``
    (f, n) tell where an unknown margin was condemned by its bound or acquitted by the factory's example.
    """

    codes: Codes
    verdict: Codes
    by_bound: NDArray[np.bool_]
    by_factory: NDArray[np.bool_]
    judged: Array
    spreads: Array
    shares: Array


def findings_of(rows: Rows) -> tuple[Positions, list[Finding]]:
    """The builds' positions, and everything that the checks find."""
    build, factory = positions_of(rows)
    situation = Situation(rows, build, factory)
    return build, [finding for check in CHECKS for finding in check(situation)]


def decided(findings: Sequence[Finding], rows: Rows) -> Decided:
    """The outcomes of findings over ``rows`` with all their columns."""
    judged, shares = moved([a for f in findings for a in (f.margin, f.bound, f.short_of_factory)], rows)
    spreads = np.sqrt(np.einsum("qnk,qnk->qn", shares, shares))
    judged, spreads = (a.reshape(len(findings), 3, -1) for a in (judged, spreads))
    codes, by_bound, by_factory = _outcomes(findings, judged, spreads, rows)
    required = np.array([[f.label.required] for f in findings])
    verdict = overall(codes, required)
    codes = np.where(required, codes, np.where(codes == UNSAFE, MARGINAL, codes)).astype(np.int8)
    shares = shares.reshape(len(findings), 3, *shares.shape[1:])
    return Decided(codes, verdict, by_bound, by_factory, judged, spreads, shares)


def moved(quantities: Sequence[Array], rows: Rows) -> tuple[Array, Array]:
    """Values as read (q, n), and what each reading contributes to their standard uncertainties (q, n, k)."""
    stack = np.empty((len(quantities), rows.brought.count, rows.weights.shape[1] + 1))
    for place, quantity in zip(stack, quantities, strict=True):
        place[...] = quantity
    return stack[..., 0].copy(), contributions(stack, rows.weights)


def reduced(quantities: Sequence[Array], rows: Rows) -> tuple[Array, Array]:
    """Values as read and standard uncertainties, (q, n) each, of quantities (n, K)."""
    as_read, shares = moved(quantities, rows)
    return as_read, np.sqrt(np.einsum("qnk,qnk->qn", shares, shares))


def reserves(findings: Sequence[Finding], rows: Rows) -> Array:
    """How much of each finding's margin must be there for certain, (f, 1)."""
    policy = rows.axle.axle.policy
    return np.array([[policy.reserve(f.label.check, f.label.quantity)] for f in findings])


def applies(finding: Finding) -> NDArray[np.bool_]:
    """Where a finding applies, (n,) or (1,)."""
    return finding.applies[:, 0] if isinstance(finding.applies, np.ndarray) else np.array([finding.applies])


def _outcomes(
    findings: Sequence[Finding], judged: Array, spreads: Array, rows: Rows
) -> tuple[Codes, NDArray[np.bool_], NDArray[np.bool_]]:
    guard = guard_factor(rows.axle.axle.policy.clear_probability)
    codes = outcomes(judged[:, 0], spreads[:, 0], reserves(findings, rows), guard)
    unknown = codes == UNDETERMINED
    by_bound = unknown & (judged[:, 1] < -NOTHING)
    by_factory = unknown & ~by_bound & no_further(judged[:, 2], spreads[:, 2], guard)
    codes[by_bound] = UNSAFE
    codes[by_factory] = CLEAR
    for code, finding in zip(codes, findings, strict=True):
        code[:] = np.where(applies(finding), code, NOT_APPLICABLE)
    return codes, by_bound, by_factory
