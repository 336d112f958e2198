"""One build's share of the settled numbers as the plain values of the HTTP contract's verdict record."""

from __future__ import annotations

from math import isfinite

from service.engine.assumptions import assumptions, basis, safety_notes
from service.engine.decision import ACTIONS, CLEAR, NOT_APPLICABLE, OUTCOMES, UNDETERMINED
from service.engine.first_contact import first_hard_contact
from service.engine.how_to_measure import HOW
from service.engine.missing import needs
from service.engine.numbers_out import result
from service.engine.places import NAMES
from service.engine.settled import COVERAGE, DIGITS, Settled
from service.engine.told import Told, conformity_of, decisive, told
from service.engine.words import JOINTS

Json = dict[str, object]
SINGLES, FREE_LENGTH = 8, 4
"""How many single numbers follow those of the positions, and which of them is the spring's free length."""
LIFT = -SINGLES
"""Where the lift stands among the settled numbers."""


def record_of(settled: Settled, row: int) -> Json:
    """The engine's part of the verdict record on build ``row`` of a chunk; remedies are solved for apart from it."""
    build, outcome = settled.builds[row], OUTCOMES[settled.verdict[row]]
    findings = told(settled, row)
    checks = [findings[place] for place in settled.worst_first[:, row].tolist()]
    lift = settled.positions.reported[0][row][LIFT], settled.positions.reported[1][row][LIFT]
    return {
        "verdict": outcome,
        "action": ACTIONS[outcome],
        "headline": _headline(outcome, checks),
        "checks": [_check(settled, row, finding) for finding in checks],
        "positions": _positions(settled, row, findings),
        "first_hard_contact": first_hard_contact(settled, row),
        "lift_mm": result(*lift),
        "safety_notes": safety_notes(build),
        "missing": _missing(settled, row, checks),
        "remedies": [],
        "assumptions": list(assumptions(build)),
    }


def _headline(outcome: str, checks: list[Told]) -> str:
    said = decisive(outcome, checks).because()
    return f"Nothing in this build meets what it must not. Closest: {said}" if outcome == "clear" else said


def _check(settled: Settled, row: int, finding: Told) -> Json:
    label, margin, spread = finding.label, finding.margin, finding.spread
    applies = finding.code != NOT_APPLICABLE
    known = applies and isfinite(margin) and isfinite(spread)
    return {
        "check": label.check,
        "outcome": OUTCOMES[finding.code],
        "required": label.required and applies,
        "at": label.bound_at if finding.condemned else label.at,
        "quantity": label.quantity,
        "value": finding.value if applies and isfinite(finding.value) else None,
        "limit": finding.limit if applies and isfinite(finding.limit) else None,
        "reserve": finding.reserve,
        "margin": margin if known else None,
        "standard_uncertainty": spread if known else None,
        "conformity_probability": conformity_of(margin, spread) if known else None,
        "because": finding.because(),
        "basis": basis(settled.builds[row], label, finding.reserve, by_factory=finding.acquitted) if applies else [],
        "details": _details(settled, row, finding) if applies else {},
    }


def _details(settled: Settled, row: int, finding: Told) -> Json:
    details: Json = {name: detail if isfinite(detail) else None for name, detail in finding.details.items()}
    if isfinite(finding.spread) and finding.spread > 0.0:
        details["uncertainty_from"] = _uncertainty_from(settled, row, finding.place)
    return details


def _uncertainty_from(settled: Settled, row: int, place: int) -> list[Json]:
    """The foremost readings by where the request would state them, each with its share."""
    spring = settled.builds[row].spring
    pointers = settled.pointers[spring is not None and spring.force_table is not None]
    places, shares = settled.foremost
    return [
        {"reading": pointers[i], "share": share}
        for i, share in zip(places[row][place], shares[row][place], strict=True)
        if share
    ]


def _positions(settled: Settled, row: int, findings: list[Told]) -> list[Json]:
    anchored = settled.builds[row].axle.travel.anchored
    values, plus_minus = (each[row] for each in settled.positions.reported)
    told = list(map(result, values, plus_minus))
    free = told[-SINGLES + FREE_LENGTH]
    joints = _joints(findings)
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


def _joints(findings: list[Told]) -> dict[str, Json]:
    """What each joint has left at each position, by the finding with the least to spare; none where it is not known."""
    left: dict[tuple[str, str], Told] = {}
    for finding in findings:
        label = finding.label
        if label.check in JOINTS and finding.code != NOT_APPLICABLE:
            before = left.get((label.at, label.check))
            if before is None or finding.rank < before.rank:
                left[label.at, label.check] = finding
    joints: dict[str, Json] = {}
    for (at, joint), finding in left.items():
        unit = "margin_deg" if finding.label.quantity == "angle_deg" else "margin_mm"
        left_over = result(finding.margin, round(COVERAGE * finding.spread, DIGITS))
        joints.setdefault(at, {})[joint] = {unit: left_over}
    return joints


def _missing(settled: Settled, row: int, checks: list[Told]) -> list[Json]:
    """What would settle what is undetermined, each datum once, with the checks that need it."""
    found: dict[tuple[str, str], list[str]] = {}
    for finding in checks:
        if finding.code == UNDETERMINED:
            for need in needs(settled, row, finding):
                needed_for = found.setdefault(need, [])
                if finding.label.check not in needed_for:
                    needed_for.append(finding.label.check)
    unsure = [f.label.check for f in checks if f.code > CLEAR and f.label.quantity in SPOILT_BY_THE_RATIO]
    if settled.builds[row].axle.travel.ratio_assumed and unsure:
        found.setdefault(("/axle/travel/motion_ratio", HOW["motion_ratio"]), unsure)
    return [{"field": field, "needed_for": needed, "how_to_measure": how} for (field, how), needed in found.items()]


SPOILT_BY_THE_RATIO = {"arch_to_hub_mm", "bump_travel_left_percent", "droop_travel_left_percent", "lift_mm"}
