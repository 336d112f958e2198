"""One build's findings as plain numbers, and the sentence that each of them makes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from statistics import NormalDist
from typing import NamedTuple

from service.engine.checks.finding import Label
from service.engine.decision import MARGINAL, NOT_APPLICABLE, OUTCOMES, UNDETERMINED
from service.engine.settled import COVERAGE, Settled
from service.engine.words import JOINTS, REASONS

NORMAL = NormalDist()
LEAST_SPREAD = 1e-3
"""A smaller standard uncertainty is the noise of the computation."""


class Told(NamedTuple):
    """A finding of one build, its numbers rounded; not-a-number where something is not known.

    ``margin`` and ``spread`` are the bound's where the bound condemned; ``place`` is the finding's in its chunk.
    """

    label: Label
    code: int
    value: float
    limit: float
    reserve: float
    margin: float
    spread: float
    condemned: bool
    acquitted: bool
    details: Mapping[str, float]
    place: int

    @property
    def wording(self) -> str:
        check, case = self.label.check, self.label.case
        if check in JOINTS:
            return f"joint_{case}" if case else "joint"
        return f"{check}_{case}" if case else check

    @property
    def rank(self) -> tuple[int, bool, float]:
        """Worst first: outcome, then what is required, then by how many standard uncertainties it is clear of its
        reserve.
        """
        room = (self.margin - self.reserve) / max(self.spread, LEAST_SPREAD)
        return -self.code, not self.label.required, -math.inf if math.isnan(room) else room

    def because(self) -> str:
        """One plain sentence with the numbers."""
        if self.code == NOT_APPLICABLE:
            return self.label.why_not
        return REASONS[self.wording][self._situation()].format_map(_Printed(self))

    def _situation(self) -> str:
        if self.condemned or self.details.get("coil_gap_at_bump_contact_mm", 0.0) < 0.0:
            return "condemned"
        if self.acquitted:
            return "factory"
        if self.code == UNDETERMINED:
            return self._unknown()
        if self.label.check == "damper_topping" and self.margin < 0.0:
            return "condemned"
        lower = self.label.check == "ride_height" and self.code <= MARGINAL and self.value < 0.0
        return OUTCOMES[self.code] + ("_lower" if lower else "")

    def _unknown(self) -> str:
        further = "further_than_factory_deg" if self.label.quantity == "angle_deg" else "further_than_factory_mm"
        telling = {"coil_bind": "coil_gap_at_bump_contact_mm"}.get(self.label.check, further)
        if telling not in self.details:
            return "unknown"
        if math.isnan(self.details[telling]):
            return "unknown_far"
        return "unknown_near" if self.label.check in JOINTS and self.details[telling] <= 0.0 else "unknown"

    def number(self, name: str) -> float:
        """A number that a template may use, by its name there."""
        if name in self.details:
            return self.details[name]
        if name == "short":
            return -min(self.margin, self.details.get("coil_gap_at_bump_contact_mm", self.margin))
        if name == "further":
            return self.details.get("further_than_factory_mm", math.nan)
        return {
            "value": self.value,
            "limit": self.limit,
            "margin": self.margin,
            "lower": -self.value,
            "plus_minus": COVERAGE * self.spread,
        }[name]


class _Printed(dict[str, str]):
    """The numbers of a finding as a template asks for them: one decimal; kilograms, MPa and per cent whole."""

    def __init__(self, finding: Told) -> None:
        super().__init__(reserve=f"{finding.reserve:g}", joint=JOINTS.get(finding.label.check, ""))
        self.finding = finding
        self.digits = 0 if finding.label.quantity.endswith(("_kg", "_mpa", "_percent")) else 1

    def __missing__(self, name: str) -> str:
        return _printed(self.finding.number(name), self.digits)


def _printed(figure: float, digits: int) -> str:
    if not math.isfinite(figure):
        return "an unknown number of"
    text = f"{figure:.{digits}f}"
    if digits:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def told(settled: Settled, row: int) -> Iterator[Told]:
    """Every finding on build ``row`` of a chunk, in the order of the checks."""
    return (told_of(settled, row, index) for index in range(len(settled.labels)))


def told_of(settled: Settled, row: int, index: int) -> Told:
    """Finding ``index`` on build ``row`` of a chunk."""
    codes, bounds, factory = settled.outcomes
    by_bound, by_factory = bounds[row][index], factory[row][index]
    as_read, judged, spreads = settled.reported
    label, first = settled.labels[index], settled.places[index]
    value, limit, *details = as_read[row][first : settled.places[index + 1]]
    margin, spread = judged[row][index][by_bound], spreads[row][index][by_bound]
    reserve = settled.builds[row].axle.axle.policy.reserve(label.check, label.quantity)
    named = dict(zip(settled.detail_names[index], details, strict=True))
    return Told(
        label, codes[row][index], margin + limit if by_bound else value, limit, reserve, margin, spread,
        by_bound, by_factory, named, index,
    )  # fmt: skip


def _worse_of_one_check(finding: Told) -> tuple[int, bool, tuple[int, bool, float]]:
    """Outcome; then the axle before the whole vehicle; then by what is left."""
    return -finding.code, finding.label.case == "gross", finding.rank


def worst_of_each_check(findings: Iterator[Told]) -> list[Told]:
    """The worst finding of each check, worst check first."""
    worst: dict[str, Told] = {}
    for finding in findings:
        before = worst.setdefault(finding.label.check, finding)
        worst[finding.label.check] = min(before, finding, key=_worse_of_one_check)
    return sorted(worst.values(), key=lambda finding: finding.rank)


def decisive(verdict: str, checks: list[Told]) -> Told:
    """The check that a verdict rests on, or that is closest to changing it, of checks worst first."""
    alike = [check for check in checks if OUTCOMES[check.code] == verdict]
    return next((check for check in alike if check.label.required), (alike or checks)[0])


def conformity_of(margin: float, standard_uncertainty: float) -> float:
    """P(margin >= 0) to six digits, as it is told."""
    return float(margin >= 0.0) if standard_uncertainty == 0.0 else round(NORMAL.cdf(margin / standard_uncertainty), 6)
