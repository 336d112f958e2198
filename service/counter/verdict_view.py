"""A verdict record as the page and the job sheet show it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from service.counter.form import Form
from service.counter.instead import Limits, form_with
from service.counter.language.reader import Reader
from service.counter.language.sentences import Said, said, said_beneath_its_name, said_note
from service.counter.measuring_sheet import Row, rows
from service.counter.pictures.margins import margins_drawing
from service.counter.pictures.shapes import Drawing, outcome_mark
from service.counter.pictures.spring import spring_drawing
from service.counter.pictures.svg import beside_words, svg
from service.counter.pictures.travel import travel_drawing

Record = Mapping[str, Any]
SPANS = ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm")


@dataclass(frozen=True, slots=True)
class Reason:
    """One check in words."""

    name: str
    outcome: str
    word: str
    mark: Markup
    required: bool
    because: Said


@dataclass(frozen=True, slots=True)
class Mend:
    """One change that clears one check: what to change, what the whole build is then, and what gets worse by it.

    ``address`` is the page on that build; empty where it cannot be stated at the counter.
    """

    check: str
    says: Said
    word: str
    mark: Markup
    breaks: str
    address: str


@dataclass(frozen=True, slots=True)
class VerdictView:
    """``reasons`` are those that are not clear, worst first; ``spring_span`` is what a seat gap is called here."""

    outcome: str
    word: str
    mark: Markup
    action: str
    headline: Said
    lift: str
    drawings: tuple[Drawing, ...]
    reasons: list[Reason]
    clear: list[Reason]
    not_applicable: list[Reason]
    spring_span: str
    positions: list[tuple[str, list[str]]]
    mends: list[tuple[str, list[Mend]]]
    missing: list[Row]
    cautions: list[Said]
    assumptions: list[Said]

    @property
    def pictures(self) -> list[Markup]:
        return [Markup(svg(drawing)) for drawing in self.drawings]  # noqa: S704 - our own, with every text escaped


def verdict_view(
    record: Record, factory: Record | None, reader: Reader, form: Form | None = None, limits: Limits | None = None
) -> VerdictView:
    """Everything that is shown of a record; the factory's positions come from a record of their own.

    ``form`` is the one that the record was judged from, on an axle with these ``limits``: what would mend it is then a
    step away.
    """
    outcome, checks = record["verdict"], [_reason(check, reader) for check in record["checks"]]
    lift = record["lift_mm"]
    return VerdictView(
        outcome,
        reader.say("outcome_" + outcome),
        mark(outcome),
        reader.say("action_" + record["action"]),
        said(record["headline"], reader, _foremost(record)),
        "" if lift is None else reader.figure("lift_mm", lift["value"], lift["plus_minus"], signed=True),
        drawings(record, factory, reader),
        [each for each in checks if each.outcome not in ("clear", "not_applicable")],
        [each for each in checks if each.outcome == "clear"],
        [each for each in checks if each.outcome == "not_applicable"],
        reader.say("leaf_camber" if _has_leaves(record) else "seat_gap"),
        [_position(position, reader) for position in record["positions"] if position["at"] != "articulated"],
        _mends(record, form, limits or {}, reader),
        rows(record, reader),
        [said_note(note, reader) for note in record["safety_notes"]],
        [said(sentence, reader) for sentence in record["assumptions"]],
    )


def drawings(record: Record, factory: Record | None, reader: Reader) -> tuple[Drawing, ...]:
    """The drawings that the record has enough for."""
    drawn = (travel_drawing(record, factory, reader), spring_drawing(record, reader), margins_drawing(record, reader))
    return tuple(drawing for drawing in drawn if drawing is not None)


def mark(outcome: str) -> Markup:
    """The shape of an outcome, beside its word."""
    return Markup(beside_words(Drawing(16, 16, "", "", tuple(outcome_mark(outcome, 8, 8, 14)))))  # noqa: S704 - our own


def _reason(check: Record, reader: Reader) -> Reason:
    outcome = check["outcome"]
    return Reason(
        reader.say("check_" + check["check"]),
        outcome,
        reader.say("outcome_" + outcome),
        mark(outcome),
        check["required"],
        said_beneath_its_name(check, reader),
    )


def _mends(record: Record, form: Form | None, limits: Limits, reader: Reader) -> list[tuple[str, list[Mend]]]:
    """What would mend each failing check, by the check's name."""
    by_check: dict[str, list[Mend]] = {}
    for remedy in record.get("remedies") or ():
        name = reader.say("check_" + remedy["check"])
        by_check.setdefault(name, []).append(
            _mend(name, remedy, None if form is None else form_with(form, remedy, limits), reader)
        )
    return list(by_check.items())


def _mend(name: str, remedy: Record, changed: Form | None, reader: Reader) -> Mend:
    return Mend(
        name,
        said(remedy["says"], reader),
        reader.say("outcome_" + remedy["verdict"]),
        mark(remedy["verdict"]),
        ", ".join(reader.say("check_" + check) for check in remedy["breaks"]),
        "" if changed is None else changed.address(lang=reader.language, units=reader.units),
    )


def _foremost(record: Record) -> Record | None:
    """The check that the headline is about."""
    return next((check for check in record["checks"] if check["because"] in record["headline"]), None)


def _has_leaves(record: Record) -> bool:
    """Leaves are between no seats: the height of their arch is told in the place of a seat gap, and may be negative."""
    return any(check["check"] == "leaf_over_deflection" for check in record["checks"])


def _position(position: Record, reader: Reader) -> tuple[str, list[str]]:
    figures = [
        "–" if position[span] is None else reader.figure(span, position[span]["value"], position[span]["plus_minus"])
        for span in SPANS
    ]
    return reader.say("mark_" + position["at"]), figures
