"""At full bump the damper must not be closed: it would take the hit in place of the rubber stop."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.places import BUMP_CONTACT, FULL_BUMP
from service.engine.sensitivity import Array

DAMPER_BOTTOMING = Label("damper_bottoming", "full_bump", "damper_travel_left_mm", bound_at="bump_contact")


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
        )
    ]


def _length_gained(at: Situation) -> Array:
    """Strut length at full bump less the factory's there, mm; negative where the build closes the damper further.

    Where full bump is not placed, as for the seat gap: by the length at contact on the rod, by the spacers elsewhere.
    """
    rows = at.rows
    build, factory = at.build.damper_length_mm, at.factory.damper_length_mm
    by_bump, by_contact = (build[p] - factory[p] for p in (FULL_BUMP, BUMP_CONTACT))
    same_stop = ~rows.changed("bump_stop")
    on_rod = rows.axle.axle.bump_stop_on_rod
    taken = 0.0 * rows["top_spacer"] if on_rod else -rows["top_spacer"]
    gained = np.where(np.isnan(by_bump) & same_stop, by_contact if on_rod else taken, by_bump)
    return np.where(np.isnan(gained) & same_stop & ~rows.changed("bump_stop_spacer"), taken, gained)
