"""At full droop the spring must still be pressed, or it leaves its seat."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.places import FULL_DROOP
from service.engine.sensitivity import Array

SPRING_RETENTION = Label("spring_retention", "full_droop", "spring_still_pressed_mm")


def spring_retention(at: Situation) -> list[Finding]:
    """Free length less the seat gap at full droop."""
    rows, gap = at.rows, at.build.seat_gap_mm[FULL_DROOP]
    if rows.axle.axle.traits.spring != "coil":
        return []
    pressed = rows["free_length"] - gap
    gained = _factory_gap(at) - gap
    # The damper is the factory's and nothing but a spring spacer was added: whatever its length, it presses as much.
    gained = np.where(np.isnan(gained) & ~rows.damper_changed, rows["spring_spacer"], gained)
    return [
        Finding(
            SPRING_RETENTION,
            value=pressed,
            limit=NOTHING_LEFT,
            margin=pressed,
            short_of_factory=np.where(rows.changed("coil_spring"), np.nan, gained),
            details={"seat_gap_mm": gap, "free_length_mm": rows["free_length"]},
        )
    ]


def _factory_gap(at: Situation) -> Array:
    """Seat gap at the factory's full droop, mm; to another strut or damper no further down than the wheel was seen."""
    rows, travel = at.rows, at.rows.axle.factory.travel
    gap: Array = at.factory.seat_gap_mm[FULL_DROOP]
    proven = rows.factory("proven_droop")
    unproven = rows.damper_changed & ~np.isposinf(proven[:, :1])
    if not unproven.any():
        return gap
    as_taped = travel.seat.at(proven, rows.curve_column).span_mm + rows.spread(travel.seat_from_span)
    return np.asarray(np.where(unproven, np.minimum(as_taped, gap), gap))
