"""Leaf springs: not bent past what they bear, their shackle not pulled into line, their damper not pulled out."""

from __future__ import annotations

import numpy as np

from service.engine.checks.coil_bind import seat_gap_gained
from service.engine.checks.finding import NOTHING_LEFT, Finding, Label, Situation
from service.engine.checks.joints import droop_gained, limit_mm
from service.engine.places import BUMP_CONTACT, FULL_BUMP, FULL_DROOP

LEAF_OVER_DEFLECTION = Label("leaf_over_deflection", "full_bump", "leaf_deflection_left_mm", bound_at="bump_contact")
SHACKLE_PAST_LINE = Label("shackle_past_line", "full_droop", "arch_to_hub_mm")
DAMPER_TOPPING = Label("damper_topping", "full_droop", "arch_to_hub_mm", required=False)


def leaves(at: Situation) -> list[Finding]:
    """All that leaf springs ask for; nothing on an axle without them."""
    if at.rows.axle.axle.traits.spring != "leaf":
        return []
    return [_over_deflection(at), _shackle(at), _damper_topping(at)]


def _over_deflection(at: Situation) -> Finding:
    """Greatest deflection of the pack less its deflection at full bump, mm; that at bump contact bounds it."""
    rows, camber = at.rows, at.build.seat_gap_mm
    left, left_at_contact = (camber[place] - rows.solid_length for place in (FULL_BUMP, BUMP_CONTACT))
    return Finding(
        LEAF_OVER_DEFLECTION,
        value=left,
        limit=NOTHING_LEFT,
        margin=left,
        bound=left_at_contact,
        short_of_factory=np.where(rows.changed("leaf_pack"), np.nan, seat_gap_gained(at)),
        details={"camber_mm": camber[FULL_BUMP], "max_deflection_mm": rows["leaf_max_deflection"]},
    )


def _shackle(at: Situation) -> Finding:
    """The drop at which shackle and leaf come into line less full droop, mm; past it the shackle may turn over."""
    # A block lowers the wheel without turning the shackle.
    limit = limit_mm(at, "limit_shackle") + at.rows["block"] - at.rows.factory("block")
    height = at.build.arch_to_hub_mm[FULL_DROOP]
    another = at.rows.changed("shackle", "leaf_pack", "leaf_block")
    gained = droop_gained(at)
    return Finding(
        SHACKLE_PAST_LINE,
        value=height,
        limit=limit,
        margin=limit - height,
        short_of_factory=np.where(another, np.nan, gained),
        details={"further_than_factory_mm": -gained},
    )


def _damper_topping(at: Situation) -> Finding:
    """Full droop by the damper less the leaves' own, mm: below 0 the damper, not the leaves, holds the hanging axle."""
    own = at.build.ends.leaf_droop_mm
    droop = at.build.arch_to_hub_mm[FULL_DROOP]
    return Finding(DAMPER_TOPPING, value=droop, limit=own, margin=at.build.ends.damper_droop_mm - own)
