"""One build's share of the settled numbers as the plain values of the HTTP contract's verdict record."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import isfinite
from typing import Any, NamedTuple

import numpy as np

from service.engine.assumptions import assumptions, basis, safety_notes, solid_length_basis
from service.engine.decision import ACTIONS, CLEAR, NOT_APPLICABLE, OUTCOMES, UNDETERMINED
from service.engine.first_contact import first_hard_contact
from service.engine.how_to_measure import HOW
from service.engine.missing import needs
from service.engine.numbers_out import number, result
from service.engine.places import NAMES
from service.engine.settled import COVERAGE, DIGITS, Settled
from service.engine.told import Told, conformity_of, finding
from service.engine.wording import Wording

Json = dict[str, Any]
SINGLES, FREE_LENGTH = 8, 4
"""How many single numbers follow those of the positions, and which of them is the spring's free length."""
FLOAT = np.dtype(np.float64).itemsize
LIFT = -SINGLES
"""Where the lift stands among the settled numbers."""


def record_of(settled: Settled, row: int) -> Json:
    """The engine's part of the verdict record on build ``row`` of a chunk; remedies are solved for apart from it."""
    build, outcome = settled.builds[row], OUTCOMES[settled.verdict[row]]
    said = _all_said(settled, row)
    checks = [said[place] for place in settled.worst_first[:, row].tolist()]
    lift = settled.positions.reported[0][row][LIFT], settled.positions.reported[1][row][LIFT]
    return {
        "verdict": outcome,
        "action": ACTIONS[outcome],
        "headline": _headline(outcome, checks),
        "checks": [each.check for each in checks],
        "positions": _positions(settled, row, said),
        "first_hard_contact": first_hard_contact(settled, row),
        "lift_mm": result(*lift),
        "safety_notes": safety_notes(build),
        "missing": _missing(settled, row, checks),
        "remedies": [],
        "assumptions": list(assumptions(build)),
    }


class Said(NamedTuple):
    """A finding, and what the record says of it, which must not be changed: other records say the same."""

    finding: Told
    check: Json
    left: Json
    """What the finding's joint has left."""


class Spring(NamedTuple):
    """What of a build's spring is told with findings: has it a table of forces, and what is its solid length?"""

    by_table: bool
    solid_length: tuple[str, str]


def _all_said(settled: Settled, row: int) -> list[Said]:
    """Every finding, in the order of the checks."""
    build, wording = settled.builds[row], settled.wording
    spring = Spring(build.spring is not None and build.spring.force_table is not None, solid_length_basis(build))
    told, foremost = settled.told[row].tobytes(), settled.foremost[row].tobytes()
    size = len(foremost) // len(wording.subjects)
    return [
        _said(wording, place, spring, told[first * FLOAT : end * FLOAT], foremost[place * size : (place + 1) * size])
        for place, (first, end) in enumerate(wording.told_spans)
    ]


@lru_cache(4096)
def _said(wording: Wording, place: int, spring: Spring, told: bytes, foremost: bytes) -> Said:
    """What is said of numbers in their bytes.

    Another load leaves most findings of a build as they were: these are not said anew.
    """
    found = finding(wording, place, _numbers(told))
    label, margin, spread = found.label, found.margin, found.spread
    applies = found.code != NOT_APPLICABLE
    known = applies and isfinite(margin) and isfinite(spread)
    check: Json = {
        "check": label.check,
        "outcome": OUTCOMES[found.code],
        "required": label.required and applies,
        "at": label.bound_at if found.condemned else label.at,
        "quantity": label.quantity,
        "value": found.value if applies and isfinite(found.value) else None,
        "limit": found.limit if applies and isfinite(found.limit) else None,
        "reserve": found.reserve,
        "margin": margin if known else None,
        "standard_uncertainty": spread if known else None,
        "conformity_probability": conformity_of(margin, spread) if known else None,
        "because": found.because(),
        "basis": basis(label, found.reserve, spring.solid_length, by_factory=found.acquitted) if applies else [],
        "details": {name: number(detail) for name, detail in found.details.items()} if applies else {},
    }
    if applies and isfinite(spread) and spread > 0.0:
        pointers = wording.pointers[spring.by_table]
        shares = iter(_numbers(foremost))
        named = [
            {"reading": pointers[int(reading)], "share": share}
            for reading, share in zip(shares, shares, strict=True)
            if share
        ]
        check["details"]["uncertainty_from"] = named
    unit = "margin_deg" if label.quantity == "angle_deg" else "margin_mm"
    return Said(found, check, {unit: result(margin, round(COVERAGE * spread, DIGITS))})


def _numbers(told: bytes) -> Sequence[float]:
    return memoryview(told).cast("d").tolist()


def _headline(outcome: str, checks: list[Said]) -> str:
    said = next((check for _, check, _ in checks if check["outcome"] == outcome), checks[0].check)["because"]
    return f"Nothing in this build meets what it must not. Closest: {said}" if outcome == "clear" else str(said)


def _positions(settled: Settled, row: int, said: list[Said]) -> list[Json]:
    anchored = settled.builds[row].axle.travel.anchored
    values, plus_minus = (each[row] for each in settled.positions.reported)
    told = list(map(result, values, plus_minus))
    free = told[-SINGLES + FREE_LENGTH]
    joints = _joints(settled, said)
    described: list[Json] = []
    for place, name in enumerate(NAMES):
        height, gap, damper, ratio, force, *stance = told[place:-SINGLES:4]
        loose = values[4 + place] > values[-SINGLES + FREE_LENGTH]
        described.append(
            {
                "at": name,
                "arch_to_hub_mm": height if anchored else None,
                "seat_gap_mm": gap,
                "spring_length_mm": free if loose else gap,
                "spring_force_n": force,
                "damper_length_mm": damper,
                "motion_ratio": ratio,
                "joints": joints.get(name, {}),
                **dict(zip(("camber_deg", "toe_deg"), stance, strict=False)),  # of a surveyed axle alone
            }
        )
    lower, upper = told[-2:]
    if lower and upper:
        described.append({"at": "articulated", "arch_to_hub_mm": lower, "upper_wheel_arch_to_hub_mm": upper})
    return described


def _joints(settled: Settled, said: list[Said]) -> dict[str, Json]:
    """What each joint has left at each position, by the finding with the least to spare; none where it is not known."""
    joints: dict[str, Json] = {}
    for at, joint, places in settled.wording.joints:
        least = min((said[place] for place in places), key=_rank) if len(places) > 1 else said[places[0]]
        if least.finding.code != NOT_APPLICABLE:
            joints.setdefault(at, {})[joint] = least.left
    return joints


def _rank(said: Said) -> tuple[int, bool, float]:
    return said.finding.rank


def _missing(settled: Settled, row: int, checks: list[Said]) -> list[Json]:
    """What would settle what is undetermined, each datum once, with the checks that need it."""
    found: dict[tuple[str, str], list[str]] = {}
    for told, *_ in checks:
        if told.code == UNDETERMINED:
            for need in needs(settled, row, told):
                needed_for = found.setdefault(need, [])
                if told.label.check not in needed_for:
                    needed_for.append(told.label.check)
    unsure = [f.label.check for f, *_ in checks if f.code > CLEAR and f.label.quantity in SPOILT_BY_THE_RATIO]
    if settled.builds[row].axle.travel.ratio_assumed and unsure:
        found.setdefault(("/axle/travel/motion_ratio", HOW["motion_ratio"]), unsure)
    return [{"field": field, "needed_for": needed, "how_to_measure": how} for (field, how), needed in found.items()]


SPOILT_BY_THE_RATIO = {"arch_to_hub_mm", "bump_travel_left_percent", "droop_travel_left_percent", "lift_mm"}
