"""A larger tyre must not meet the body at full bump."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.checks.joints import MOVING_BUMP, MOVING_DROOP, rise_gained
from service.engine.places import FULL_BUMP
from service.engine.sensitivity import Array

TYRE_CLEARANCE = Label(
    "tyre_clearance", "full_bump", "tyre_gap_mm", why_not="No tyre was proposed, and no gap of the tyre was taped."
)
TYRE_ARTICULATED = Label("tyre_clearance", "articulated", "tyre_gap_mm", case="articulated")


def tyre_clearance(at: Situation) -> list[Finding]:
    """Gap between tyre and body at full bump, and of a solid axle's upper wheel, mm.

    The taped gap less half of the growth in diameter and the growth in width (common practice).
    """
    rows = at.rows
    proposed = rows.changed("tyre")
    taped = rows.axle.travel.tyre_gap is not None
    growth = np.where(proposed, 0.5 * (rows["tyre_diameter"] - rows.factory("tyre_diameter")), 0.0)
    wider = np.where(proposed, rows["tyre_width"] - rows.factory("tyre_width"), 0.0)
    places = [(TYRE_CLEARANCE, at.build.arch_to_hub_mm[FULL_BUMP], rise_gained(at), np.ones((1, 1), dtype=bool))]
    if rows.axle.axle.traits.solid:
        upper, of_factory = at.build.articulated_mm[1], at.factory.articulated_mm[1]
        spread_out = ~np.isnan((rows["track"] + rows["spring_base"])[:, :1])
        unmoved = np.isnan(upper - of_factory) & ~rows.changed(*MOVING_DROOP, *MOVING_BUMP)
        places.append((TYRE_ARTICULATED, upper, np.where(unmoved, 0.0, upper - of_factory), spread_out))
    return [
        Finding(
            label,
            value=_gap(at, height) - growth - wider,
            limit=NOTHING_LEFT,
            margin=_gap(at, height) - growth - wider,
            applies=(proposed | taped) & told,
            short_of_factory=np.minimum(gained, 0.0) - np.maximum(growth, 0.0) - np.maximum(wider, 0.0),
            details={"tyre_growth_mm": growth + wider, "raises_body_by_mm": growth},
        )
        for label, height, gained, told in places
    ]


def _gap(at: Situation, height: Array) -> Array:
    travel = at.rows.axle.travel
    curve = travel.tyre_gap if travel.anchored else None  # it was taped by arch-to-hub
    return np.full_like(height, np.nan) if curve is None else curve.at(height, at.rows.curve_column).span_mm
