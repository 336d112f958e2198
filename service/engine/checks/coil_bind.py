"""At full bump the coil must not be solid: the rubber stop has to take the hit, not the spring."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.places import BUMP_CONTACT, FULL_BUMP
from service.engine.sensitivity import Array

COIL_BIND = Label("coil_bind", "full_bump", "coil_gap_mm", bound_at="bump_contact")


def coil_bind(at: Situation) -> list[Finding]:
    """Seat gap at full bump less the solid length; the gap at bump contact bounds it from above."""
    gap, solid = at.build.seat_gap_mm, at.rows.solid_length
    left, left_at_contact = gap[FULL_BUMP] - solid, gap[BUMP_CONTACT] - solid
    if at.rows.axle.axle.traits.spring != "coil":
        return []
    return [
        Finding(
            COIL_BIND,
            value=left,
            limit=NOTHING_LEFT,
            margin=left,
            bound=left_at_contact,
            short_of_factory=np.where(at.rows.changed("coil_spring"), np.nan, seat_gap_gained(at)),
            details={
                "seat_gap_mm": gap[FULL_BUMP],
                "solid_length_mm": solid,
                "seat_gap_at_bump_contact_mm": gap[BUMP_CONTACT],
                "coil_gap_at_bump_contact_mm": left_at_contact,
            },
        )
    ]


def seat_gap_gained(at: Situation) -> Array:
    """Seat gap at full bump less the factory's there, mm; negative where the build presses the spring further.

    Where full bump is not placed but the stop is the factory's, the crush is the same: on the rod the gap at contact
    tells, elsewhere what stands between seat and strut does, and a spacer under the stop gets no credit.
    """
    rows = at.rows
    same_stop = ~rows.changed("bump_stop") & ~rows.strut_moved
    by_bump, by_contact = (at.build.seat_gap_mm[p] - at.factory.seat_gap_mm[p] for p in (FULL_BUMP, BUMP_CONTACT))
    shift = rows.seat_taken
    if rows.axle.axle.bump_stop_on_rod:
        shift = shift + rows.spacer
        same_stop = same_stop & ~rows.damper_changed
    untouched_stop = same_stop & ~rows.changed("bump_stop_spacer")
    otherwise = by_contact if rows.axle.axle.bump_stop_on_rod else shift
    gained = np.where(np.isnan(by_bump) & same_stop, otherwise, by_bump)
    return np.where(np.isnan(gained) & untouched_stop, shift, gained)
