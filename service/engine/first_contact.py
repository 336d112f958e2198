"""What is hard first when the wheel goes up from ride: the coil solid, the damper closed, or the stop crushed."""

from __future__ import annotations

import math

import numpy as np

from service.engine.numbers_out import measured, number
from service.engine.places import BUMP_CONTACT, FULL_BUMP
from service.engine.settled import DIGITS, Settled


def first_hard_contact(settled: Settled, row: int) -> dict[str, object]:
    """Which it is, where, and how much of the stop's crush is used by then; none used means that it never works.

    With the stop's crush unknown only a coil or a damper that is hard before the stop even touches can be named.
    """
    positions, compiled = settled.positions, settled.builds[row].axle
    _, solid_at, closed_at, available, _, ratio, *_ = positions.single_values[:, row].tolist()
    _, solid_spread, closed_spread, *_ = positions.single_spreads[:, row].tolist()
    full_bump, contact = (float(positions.values[0, place, row]) for place in (FULL_BUMP, BUMP_CONTACT))
    places = {
        "spring": (solid_at, solid_spread),
        "damper": (closed_at, closed_spread),
        "bump_stop": (full_bump, float(positions.spreads[0, FULL_BUMP, row])),
    }
    reached = {by: place for by, place in places.items() if math.isfinite(place[0])}
    by = max(reached, key=lambda name: reached[name][0], default=None)
    if by is None or (not math.isfinite(full_bump) and not reached[by][0] >= contact):
        return _named(None, None, math.nan, available)
    height = reached[by][0]
    surveyed = compiled.travel.surveyed
    along = surveyed.stop_gap if surveyed is not None else None
    if compiled.axle.bump_stop_on_rod:
        along = compiled.travel.damper
    if along is not None:
        at_contact, there = along.at(np.array([contact, height]), np.zeros(2, dtype=np.intp)).span_mm
        used = float(at_contact - there)
    else:
        used = (contact - height) * ratio
    used = min(max(used, 0.0), available) if math.isfinite(available) else max(used, 0.0)
    return _named(by, measured(*reached[by]) if compiled.travel.anchored else None, used, available)


def _named(by: str | None, where: dict[str, object] | None, used: float, available: float) -> dict[str, object]:
    return {
        "by": by,
        "arch_to_hub_mm": where,
        "bump_stop_crush_used_mm": number(round(used, DIGITS)),
        "bump_stop_crush_available_mm": number(round(available, DIGITS)),
    }
