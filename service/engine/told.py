"""One build's findings as plain numbers, and the sentence that each of them makes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache, partial
from string import Formatter
from typing import NamedTuple, cast

from service.engine.checks.finding import Label
from service.engine.decision import MARGINAL, NOT_APPLICABLE, OUTCOMES, UNDETERMINED
from service.engine.settled import COVERAGE, Settled
from service.engine.wording import Wording
from service.engine.words import JOINTS, REASONS
from service.engine.worst_first import LEAST_SPREAD


class Sentence(NamedTuple):
    """A template taken apart: ``text`` with a place for each number, which numbers go there, and their decimals."""

    text: str
    numbers: tuple[str, ...]
    digits: int


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
    def rank(self) -> tuple[int, bool, float]:
        """Worst first, as ``worst_first`` has it."""
        room = (self.margin - self.reserve) / max(self.spread, LEAST_SPREAD)
        return -self.code, not self.label.required, -math.inf if math.isnan(room) else room

    def because(self) -> str:
        """One plain sentence with the numbers."""
        if self.code == NOT_APPLICABLE:
            return self.label.why_not
        text, numbers, digits = _sentences(self.label)[self._situation()]
        return text % tuple(
            [f"{self.reserve:g}" if name == "reserve" else _printed(self.number(name), digits) for name in numbers]
        )

    def _situation(self) -> str:
        if self.condemned or self.details.get("coil_gap_at_bump_contact_mm", 0.0) < 0.0:
            return "condemned"
        if self.acquitted:
            return "factory"
        if self.code == UNDETERMINED:
            return self._unknown()
        if self.label.check == "damper_topping" and self.margin < 0.0:
            return "condemned"
        if self.label.check == "coil_gap_recommended" and self.value < 0.0:
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
        if name in FIELDS:
            return cast("float", self[FIELDS[name]])
        if name in self.details:
            return self.details[name]
        if name == "plus_minus":
            return COVERAGE * self.spread
        if name == "short":
            return -min(self.margin, self.details.get("coil_gap_at_bump_contact_mm", self.margin))
        if name == "lower":
            return -self.value
        return {"further": self.details.get("further_than_factory_mm", math.nan)}[name]


_made: Callable[[tuple[object, ...]], Told] = partial(tuple.__new__, Told)
"""Some twenty are made for each record: this is quicker by half than to call the class."""
FIELDS = {name: Told._fields.index(name) for name in ("value", "limit", "margin")}
WHOLE = ("_kg", "_mpa", "_percent")
"""Quantities that are printed without a decimal."""


@lru_cache(256)
def _sentences(label: Label) -> dict[str, Sentence]:
    """What may be said of a check, by situation."""
    wording = "joint" if label.check in JOINTS else label.check
    templates = REASONS[f"{wording}_{label.case}" if label.case else wording]
    digits = 0 if label.quantity.endswith(WHOLE) else 1
    return {
        situation: Sentence(*_taken_apart(template.replace("{joint}", JOINTS.get(label.check, ""))), digits)
        for situation, template in templates.items()
    }


def _taken_apart(template: str) -> tuple[str, tuple[str, ...]]:
    """A template as text to be filled in, and the names of what is filled in.

    >>> _taken_apart("100 % of {value} mm")
    ('100 %% of %s mm', ('value',))
    """
    pieces = [(text.replace("%", "%%"), name) for text, name, _, _ in Formatter().parse(template)]
    text = "".join(piece if name is None else f"{piece}%s" for piece, name in pieces)
    return text, tuple(name for _, name in pieces if name is not None)


def _printed(figure: float, digits: int) -> str:
    """With a decimal, but for a zero; or with none.

    >>> _printed(12.04, 1), _printed(-0.04, 1), _printed(719.6, 0), _printed(math.nan, 1)
    ('12', '0', '720', 'an unknown number of')
    """
    if not math.isfinite(figure):
        return "an unknown number of"
    text = f"{figure:.1f}".removesuffix(".0") if digits else f"{figure:.0f}"
    return "0" if text == "-0" else text


def told_worst_first(settled: Settled, row: int) -> list[Told]:
    """The worst finding of each check on build ``row`` of a chunk, worst check first."""
    wording, numbers = settled.wording, settled.told[row].tolist()
    return [
        finding(wording, place, numbers[slice(*wording.told_spans[place])])
        for place in settled.worst_first[:, row].tolist()
    ]


def finding(wording: Wording, place: int, numbers: Sequence[float]) -> Told:
    """The finding at a place of a chunk out of what is told of it (see ``Settled.told``)."""
    label, reserve, names = wording.subjects[place]
    code, condemned, acquitted, margin, spread, value, limit, *details = numbers
    return _made((
        label, int(code), margin + limit if condemned else value, limit, reserve, margin, spread,
        bool(condemned), bool(acquitted), dict(zip(names, details, strict=True)), place,
    ))  # fmt: skip


def decisive(verdict: str, checks: Sequence[Told]) -> Told:
    """The check that a verdict rests on, or that is closest to changing it, of checks worst first."""
    return next((check for check in checks if OUTCOMES[check.code] == verdict), checks[0])


def conformity_of(margin: float, standard_uncertainty: float) -> float:
    """P(margin >= 0) to six digits, as it is told.

    >>> conformity_of(1.0, 1.0)
    0.841345
    """
    if standard_uncertainty == 0.0:
        return float(margin >= 0.0)
    return round(0.5 * (1.0 + math.erf(margin / standard_uncertainty / math.sqrt(2.0))), 6)
