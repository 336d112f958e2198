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
from service.engine.headings import Headings, headings_of
from service.engine.positions import Positions, positions_of
from service.engine.rows import Rows
from service.engine.sensitivity import BLOCK_NUMBERS, Array, contributions

MARGIN, BOUND, SHORT = range(3)
"""The places of what a finding is judged by."""


@dataclass(frozen=True, slots=True)
class Decided:
    """Outcome ``codes`` (f, n) of f findings on n builds, and the ``verdict`` (n,) on each build.

    ``headings`` say what the findings are about. ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness
    of the factory with their standard uncertainties; the latter two where some build's margin is not known.
    ``by_bound`` and ``by_factory`` (f, n) tell where an unknown margin was condemned by its bound or acquitted by the
    factory's example; ``shares`` (f, n, k) are what each reading contributes to the uncertainty of the margin, or of
    the bound where that condemned.
    """

    codes: Codes
    verdict: Codes
    by_bound: NDArray[np.bool_]
    by_factory: NDArray[np.bool_]
    judged: Array
    spreads: Array
    shares: NDArray[np.float32]
    headings: Headings


def findings_of(rows: Rows) -> tuple[Positions, list[Finding]]:
    """The builds' positions, and everything that the checks find."""
    build, factory = positions_of(rows)
    situation = Situation(rows, build, factory)
    return build, [finding for check in CHECKS for finding in check(situation)]


def decided(findings: Sequence[Finding], rows: Rows) -> Decided:
    """The outcomes of findings over ``rows`` with all their columns.

    Bounds, and the factory's example, are looked at where some margin is not known: they have no say elsewhere.
    """
    headings, guard = headings_for(findings, rows), guard_factor(rows.axle.axle.policy.clear_probability)
    judged, spreads = np.full((2, len(findings), 3, rows.brought.count), np.nan)
    judged[:, MARGIN], spreads[:, MARGIN], shares = moved([finding.margin for finding in findings], rows)
    of_decider = shares.astype(np.float32)
    codes, applies = outcomes(judged[:, MARGIN], spreads[:, MARGIN], headings.reserves, guard), applying(findings, rows)
    unknown = (codes == UNDETERMINED) & applies
    places = np.flatnonzero(unknown.any(axis=1)).tolist()
    beside = [each for place in places for each in (findings[place].bound, findings[place].short_of_factory)]
    values, unsure, shares = moved(beside, rows)
    for of_beside, numbers in ((judged, values), (spreads, unsure)):
        each = numbers.reshape(len(places), 2, rows.brought.count)
        of_beside[places, BOUND:] = np.where(unknown[places, None], each, np.nan)
    by_bound = unknown & (judged[:, BOUND] < -NOTHING)
    by_factory = unknown & ~by_bound & no_further(judged[:, SHORT], spreads[:, SHORT], guard)
    for place, of_bound in zip(places, shares[::2], strict=True):
        of_decider[place, by_bound[place]] = of_bound[by_bound[place]]
    codes[by_bound] = UNSAFE
    codes[by_factory] = CLEAR
    codes[~applies] = NOT_APPLICABLE
    verdict = overall(codes, headings.required)
    codes[~headings.required & (codes == UNSAFE)] = MARGINAL
    return Decided(codes, verdict, by_bound, by_factory, judged, spreads, of_decider, headings)


def moved(quantities: Sequence[Array], rows: Rows) -> tuple[Array, Array, Array]:
    """Of quantities (n, K): values as read and standard uncertainties, (q, n) each, and what each reading contributes
    to these (q, n, k).
    """
    stack = np.empty((len(quantities), *_shape(rows)))
    values, spreads = _worked_on(quantities, rows, stack)
    return values, spreads, stack[..., 1:]


def reduced(quantities: Sequence[Array], rows: Rows) -> tuple[Array, Array]:
    """Values as read and standard uncertainties, (q, n) each, of quantities (n, K)."""
    return _worked_on(quantities, rows, np.empty((min(len(quantities), _block(rows)), *_shape(rows))))


def _shape(rows: Rows) -> tuple[int, int]:
    return rows.brought.count, len(rows.curve_column)


def _block(rows: Rows) -> int:
    builds, columns = _shape(rows)
    return max(1, BLOCK_NUMBERS // (builds * columns))


def _worked_on(quantities: Sequence[Array], rows: Rows, room: Array) -> tuple[Array, Array]:
    """Values and spreads of quantities; ``room`` is left with what contributes to them, or to the last of them."""
    values, spreads = np.empty((2, len(quantities), rows.brought.count))
    size = _block(rows)
    for first in range(0, len(quantities), size):
        some = slice(first, first + size)
        part = room[first % len(room) :][: len(quantities[some])]
        for place, quantity in zip(part, quantities[some], strict=True):
            place[...] = quantity
        values[some] = part[..., 0]
        shares = contributions(part, rows.weights)
        np.sqrt(np.einsum("qnk,qnk->qn", shares, shares), out=spreads[some])
    return values, spreads


def headings_for(findings: Sequence[Finding], rows: Rows) -> Headings:
    """What findings are about, under the policy of the axle."""
    return headings_of(tuple(finding.label for finding in findings), rows.axle.axle.policy)


def applying(findings: Sequence[Finding], rows: Rows) -> NDArray[np.bool_]:
    """Where each finding applies, (f, n)."""
    flags = np.ones((len(findings), rows.brought.count), dtype=bool)
    for place, finding in enumerate(findings):
        if finding.applies is not True:
            flags[place] = finding.applies if finding.applies is False else finding.applies[:, 0]
    return flags
