"""One build's share of the settled numbers as the plain values of the HTTP contract's verdict record."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import inf, isfinite
from typing import Any, NamedTuple, cast

from service.engine.assumptions import (
    Assumed,
    assumed_of_load,
    assumed_of_outfit,
    basis,
    safety_notes,
    solid_length_basis,
)
from service.engine.decision import ACTIONS, CLEAR, NOT_APPLICABLE, OUTCOMES, UNDETERMINED
from service.engine.first_contact import first_hard_contact
from service.engine.how_to_measure import HOW
from service.engine.lasting import Lasting
from service.engine.missing import needs
from service.engine.numbers_out import result
from service.engine.places import NAMES, RIDE
from service.engine.settled import COVERAGE, DIGITS, Settled
from service.engine.told import Told, conformity_of, finding
from service.engine.wording import HEAD, Wording

Json = dict[str, Any]
SINGLES, FREE_LENGTH = 8, 4
"""How many single numbers follow those of the positions, and which of them is the spring's free length."""
LIFT = -SINGLES
"""Where the lift stands among the settled numbers."""


def record_of(settled: Settled, row: int) -> Json:
    """The engine's part of the verdict record on build ``row`` of a chunk; remedies are solved for apart from it."""
    build, outcome, of_outfit = settled.builds[row], OUTCOMES[settled.verdict[row]], _of_outfit(settled, row)
    checks = [
        of_outfit.said[place] if place < settled.of_outfit else _of_load(settled, row, place, of_outfit.spring)
        for place in settled.worst_first[:, row].tolist()
    ]
    lift = settled.positions.reported[0][row][LIFT], settled.positions.reported[1][row][LIFT]
    return {
        "verdict": outcome,
        "action": ACTIONS[outcome],
        "headline": _headline(outcome, checks),
        "checks": [each.check for each in checks],
        "positions": [each or _position(settled, row, RIDE, {}) for each in of_outfit.positions],
        "first_hard_contact": of_outfit.first_hard_contact,
        "lift_mm": result(*lift),
        "safety_notes": of_outfit.safety_notes,
        "missing": _missing(settled, row, checks),
        "remedies": [],
        "assumptions": [*of_outfit.assumed.before_load, *assumed_of_load(build), *of_outfit.assumed.behind_load],
    }


class Said(NamedTuple):
    """A finding, and what the record says of it, which must not be changed: other records say the same."""

    finding: Told
    check: Json


class Spring(NamedTuple):
    """What of a build's spring is told with findings: has it a table of forces, and what is its solid length?"""

    by_table: bool
    solid_length: tuple[str, str]


class OfOutfit(NamedTuple):
    """What a record says of its outfit, whatever is on board. It must not be changed: other records say the same.

    ``said`` maps the places of the findings that are told; ``positions`` has none for the ride height.
    """

    said: dict[int, Said]
    spring: Spring
    positions: list[Json | None]
    first_hard_contact: Json
    safety_notes: Sequence[Json]
    assumed: Assumed


SAID = "said"
"""The name under which it is kept with a lasting outfit."""


def _of_outfit(settled: Settled, row: int) -> OfOutfit:
    kept = settled.builds[row].outfit.kept
    if settled.outfit is None or kept is None:
        return _said_of_outfit(settled, row)
    if SAID not in kept:
        kept[SAID] = _said_of_outfit(settled.outfit, 0)
    return cast("OfOutfit", kept[SAID])


def _said_of_outfit(settled: Settled, row: int) -> OfOutfit:
    outfit, wording = settled.builds[row].outfit, settled.wording
    spring = Spring(outfit.spring is not None and outfit.spring.force_table is not None, solid_length_basis(outfit))
    told, foremost = settled.told[row].tobytes(), settled.foremost[row].tobytes()
    size = len(foremost) // len(wording.subjects)
    said = {
        place: _said_before(
            wording, place, spring, told[wording.told_bytes[place]], foremost[place * size : (place + 1) * size]
        )
        for place in settled.worst_first[:, row].tolist()
        if place < settled.of_outfit
    }
    joints = _joints(settled, row)
    positions = [
        None if place == RIDE else Lasting(_position(settled, row, place, joints.get(name, {})))
        for place, name in enumerate(NAMES)
    ]
    return OfOutfit(
        said, spring, [*positions, *_articulated(settled, row)], Lasting(first_hard_contact(settled, row)),
        safety_notes(outfit), assumed_of_outfit(outfit),
    )  # fmt: skip


def _of_load(settled: Settled, row: int, place: int, spring: Spring) -> Said:
    """What is said of one finding that depends on the load."""
    wording, behind = settled.wording, place - settled.of_outfit
    told, foremost = settled.told_of_load
    first, end = (edge - wording.told_spans[settled.of_outfit][0] for edge in wording.told_spans[place])
    return _said(wording, place, spring, told[row][first:end], foremost[row][behind])


@lru_cache(4096)
def _said_before(wording: Wording, place: int, spring: Spring, told: bytes, foremost: bytes) -> Said:
    """What is said of numbers in their bytes: other parts leave many findings as they were, not to be said anew."""
    found, check = _said(wording, place, spring, *(memoryview(each).cast("d").tolist() for each in (told, foremost)))
    return Said(found, Lasting(check))


def _said(wording: Wording, place: int, spring: Spring, told: Sequence[float], foremost: Sequence[float]) -> Said:
    """What is said of a finding's numbers."""
    found = finding(wording, place, told)
    label, code, value, limit, reserve, margin, spread, condemned, by_factory, numbers, _ = found
    applies = code != NOT_APPLICABLE
    known = applies and isfinite(margin) and isfinite(spread)
    details: Json = {}
    if applies:
        details = {name: each if isfinite(each) else None for name, each in numbers.items()}
        if 0.0 < spread < inf:
            pointers, pairs = wording.pointers[spring.by_table], zip(foremost[::2], foremost[1::2], strict=True)
            named = [{"reading": pointers[int(reading)], "share": share} for reading, share in pairs if share]
            details["uncertainty_from"] = named
    check: Json = {
        "check": label.check,
        "outcome": OUTCOMES[code],
        "required": label.required and applies,
        "at": label.bound_at if condemned else label.at,
        "quantity": label.quantity,
        "value": value if applies and isfinite(value) else None,
        "limit": limit if applies and isfinite(limit) else None,
        "reserve": reserve,
        "margin": margin if known else None,
        "standard_uncertainty": spread if known else None,
        "conformity_probability": conformity_of(margin, spread) if known else None,
        "because": found.because(),
        "basis": basis(label, reserve, spring.solid_length, by_factory=by_factory) if applies else [],
        "details": details,
    }
    return Said(found, check)


def _headline(outcome: str, checks: list[Said]) -> str:
    said = next((each.check for each in checks if each.check["outcome"] == outcome), checks[0].check)["because"]
    return f"Nothing in this build meets what it must not. Closest: {said}" if outcome == "clear" else str(said)


def _position(settled: Settled, row: int, place: int, joints: Json) -> Json:
    values, plus_minus = (each[row] for each in settled.positions.reported)
    of_place = slice(place, -SINGLES, len(NAMES))
    height, gap, damper, ratio, force, *stance = map(result, values[of_place], plus_minus[of_place])
    free = FREE_LENGTH - SINGLES
    loose = values[len(NAMES) + place] > values[free]
    return {
        "at": NAMES[place],
        "arch_to_hub_mm": height if settled.builds[row].axle.travel.anchored else None,
        "seat_gap_mm": gap,
        "spring_length_mm": result(values[free], plus_minus[free]) if loose else gap,
        "spring_force_n": force,
        "damper_length_mm": damper,
        "motion_ratio": ratio,
        "joints": joints,
        **dict(zip(("camber_deg", "toe_deg"), stance, strict=False)),  # of a surveyed axle alone
    }


def _articulated(settled: Settled, row: int) -> list[Json]:
    """Of a solid axle whose lower and upper wheel can be placed with one spring at either end."""
    values, plus_minus = (each[row][-2:] for each in settled.positions.reported)
    lower, upper = map(result, values, plus_minus)
    if not (lower and upper):
        return []
    return [{"at": "articulated", "arch_to_hub_mm": lower, "upper_wheel_arch_to_hub_mm": upper}]


def _joints(settled: Settled, row: int) -> dict[str, Json]:
    """What each joint has left at each position, by the finding with the least to spare; none where it is not known."""
    joints: dict[str, Json] = {}
    wording, numbers = settled.wording, settled.told[row].tolist()

    def rank(place: int) -> tuple[int, bool, float]:
        return finding(wording, place, numbers[slice(*wording.told_spans[place])]).rank

    for at, joint, places in wording.joints:
        least = min(places, key=rank) if len(places) > 1 else places[0]
        first, _ = wording.told_spans[least]
        code, _, _, margin, spread = numbers[first : first + HEAD]
        if code != NOT_APPLICABLE:
            unit = "margin_deg" if wording.subjects[least].label.quantity == "angle_deg" else "margin_mm"
            joints.setdefault(at, {})[joint] = {unit: result(margin, round(COVERAGE * spread, DIGITS))}
    return joints


def _missing(settled: Settled, row: int, checks: list[Said]) -> list[Json]:
    """What would settle what is undetermined, each datum once, with the checks that need it."""
    found: dict[tuple[str, str], list[str]] = {}
    for told in [each.finding for each in checks if each.finding.code == UNDETERMINED]:
        for need in needs(settled, row, told):
            needed_for = found.setdefault(need, [])
            if told.label.check not in needed_for:
                needed_for.append(told.label.check)
    if settled.builds[row].axle.travel.ratio_assumed:
        unclear = [each.finding.label for each in checks if each.finding.code > CLEAR]
        unsure = [label.check for label in unclear if label.quantity in SPOILT_BY_THE_RATIO]
        if unsure:
            found.setdefault(("/axle/travel/motion_ratio", HOW["motion_ratio"]), unsure)
    return [{"field": field, "needed_for": needed, "how_to_measure": how} for (field, how), needed in found.items()]


SPOILT_BY_THE_RATIO = {"arch_to_hub_mm", "bump_travel_left_percent", "droop_travel_left_percent", "lift_mm"}
