"""At full bump the damper must not be closed: it would take the hit in place of the rubber stop."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.places import BUMP_CONTACT, FULL_BUMP, FULL_DROOP
from service.engine.sensitivity import Array

DAMPER_BOTTOMING = Label("damper_bottoming", "full_bump", "damper_travel_left_mm", bound_at="bump_contact")
NO_TRAVEL = Label("damper_bottoming", "bump_contact", "wheel_travel_mm", case="no_travel")
LITTLE_MM = 10.0
"""Wheel travel from droop to bump contact below which it is looked at: a suspension has ten times as much."""


def damper_bottoming(at: Situation) -> list[Finding]:
    """Strut length at full bump less the closed length; the one at bump contact bounds it from above."""
    length, closed = at.build.damper_length_mm, at.rows["closed"]
    left = length[FULL_BUMP] - closed
    return [
        Finding(
            DAMPER_BOTTOMING,
            value=left,
            limit=NOTHING_LEFT,
            margin=left,
            bound=length[BUMP_CONTACT] - closed,
            short_of_factory=np.where(at.rows.damper_changed, np.nan, _length_gained(at)),
            details={"damper_length_mm": length[FULL_BUMP], "closed_length_mm": closed},
        ),
        *_no_travel(at),
    ]


def _no_travel(at: Situation) -> list[Finding]:
    """Wheel travel from full droop to bump contact, of builds that leave little or none: where the stop is pressed all
    the time, no other number of the build means anything.
    """
    left = at.build.arch_to_hub_mm[FULL_DROOP] - at.build.arch_to_hub_mm[BUMP_CONTACT]
    little = left[:, :1] < LITTLE_MM
    return [Finding(NO_TRAVEL, left, NOTHING_LEFT, left, little)] if little.any() else []


def _length_gained(at: Situation) -> Array:
    """Strut length at full bump less the factory's there, mm; negative where the build closes the damper further.

    Where full bump is not placed, as for the seat gap: by the length at contact on the rod, by the spacers elsewhere.
    """
    rows = at.rows
    build, factory = at.build.damper_length_mm, at.factory.damper_length_mm
    by_bump, by_contact = (build[p] - factory[p] for p in (FULL_BUMP, BUMP_CONTACT))
    same_stop = ~rows.changed("bump_stop") & ~rows.strut_moved
    on_rod = rows.axle.axle.bump_stop_on_rod
    taken = 0.0 * rows["top_spacer"] if on_rod else -rows["top_spacer"]
    gained = np.where(np.isnan(by_bump) & same_stop, by_contact if on_rod else taken, by_bump)
    return np.where(np.isnan(gained) & same_stop & ~rows.changed("bump_stop_spacer"), taken, gained)
