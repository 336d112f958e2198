"""A larger tyre must not meet the body at full bump."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.checks.joints import articulated_gained, rise_gained
from service.engine.decision import NOTHING
from service.engine.places import FULL_BUMP
from service.engine.sensitivity import Array

TYRE_CLEARANCE = Label(
    "tyre_clearance", "full_bump", "tyre_gap_mm", why_not="No tyre was proposed, and no gap of the tyre was taped."
)
TYRE_ARTICULATED = Label("tyre_clearance", "articulated", "tyre_gap_mm", case="articulated")


def tyre_clearance(at: Situation) -> list[Finding]:
    """Gap between tyre and body at full bump, and of a solid axle's upper wheel, mm.

    The taped gap less half of the growth in diameter and the growth in width (common practice). What a tyre has less
    of one makes up for nothing of the other: whether the gap is over the tyre or beside it, nobody said. Looked at
    where a tyre is proposed, its gap was taped, or another stop lets the wheel rise further than the factory's.
    """
    rows, rise = at.rows, rise_gained(at)
    proposed = rows.changed("tyre")
    taped = any(station.tyre_gap_mm is not None for station in rows.axle.axle.envelope.travel.stations)
    growth = np.where(proposed, 0.5 * (rows["tyre_diameter"] - rows.factory("tyre_diameter")), 0.0)
    wider = np.where(proposed, rows["tyre_width"] - rows.factory("tyre_width"), 0.0)
    freed = rows.changed("bump_stop") & (rise[:, :1] < -NOTHING)
    places = [(TYRE_CLEARANCE, at.build.arch_to_hub_mm[FULL_BUMP], rise, proposed | taped | freed)]
    taken = _taken(growth, wider)
    if rows.axle.axle.traits.solid:
        spread_out = ~np.isnan((rows["track"] + rows["spring_base"])[:, :1])
        upper, gained = at.build.ends.articulated_mm[1], articulated_gained(at, lower=False)
        places.append((TYRE_ARTICULATED, upper, gained, (proposed | taped) & spread_out))
    return [
        Finding(
            label,
            value=_gap(at, height) - taken,
            limit=NOTHING_LEFT,
            margin=_gap(at, height) - taken,
            applies=applies,
            short_of_factory=np.minimum(gained, 0.0) - np.maximum(growth, 0.0) - np.maximum(wider, 0.0),
            details={"tyre_growth_mm": taken, "raises_body_by_mm": growth},
        )
        for label, height, gained, applies in places
    ]


def _taken(growth: Array, wider: Array) -> Array:
    """What a tyre's growth in radius and in width takes of its gap, mm; below 0 what one smaller both ways leaves more.

    That is told by the two as read; whatever is uncertain of either stays uncertain of what they take together.
    """
    taller, broader = growth[:, :1], wider[:, :1]
    larger, smaller = np.maximum(taller, 0.0) + np.maximum(broader, 0.0), np.maximum(taller, broader)
    as_read = np.where(larger > 0.0, larger, smaller)
    return as_read + (growth - taller) + (wider - broader)


def _gap(at: Situation, height: Array) -> Array:
    travel = at.rows.axle.travel
    curve = travel.tyre_gap if travel.anchored else None  # it was taped by arch-to-hub
    return np.full_like(height, np.nan) if curve is None else curve.at(height, at.rows.curve_column).span_mm
