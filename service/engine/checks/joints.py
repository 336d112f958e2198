"""Joints, drive shafts and hoses on a taped axle: how far the wheel may drop, or rise, before each comes to its end."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import Finding, Label, Situation
from service.engine.positions import BUMP_CONTACT, FULL_BUMP, FULL_DROOP
from service.engine.sensitivity import Array

BALL_JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end")
DRIVE_JOINTS = ("inner_cv", "outer_cv")
AT_DROOP = {
    joint: Label(
        joint,
        "full_droop",
        "arch_to_hub_mm",
        why_not="This axle is not driven: it has no drive shafts." if joint in DRIVE_JOINTS else "",
    )
    for joint in (*BALL_JOINTS, *DRIVE_JOINTS, "brake_hose")
}
AT_BUMP = {joint: Label(joint, "full_bump", "arch_to_hub_mm", case="bump") for joint in BALL_JOINTS}

REPLACED_BY = {"upper_ball_joint": "upper_arm", "brake_hose": "brake_hose"}


def joints(at: Situation) -> list[Finding]:
    """Every joint that the layout has: at full droop, ball joints at full bump too."""
    envelope = at.rows.axle.axle.envelope
    ball_joints = BALL_JOINTS[1:] if envelope.layout == "macpherson" else BALL_JOINTS
    less_drop, less_rise = _droop_gained(at), _rise_gained(at)
    return [
        *(_at_droop(at, joint, less_drop) for joint in ball_joints),
        *(_at_bump(at, joint, less_rise) for joint in ball_joints),
        *(_at_droop(at, joint, less_drop, driven=envelope.driven) for joint in DRIVE_JOINTS),
        _at_droop(at, "brake_hose", less_drop),
    ]


def _at_droop(at: Situation, joint: str, less_drop: Array, *, driven: bool = True) -> Finding:
    rows, height = at.rows, at.build.arch_to_hub_mm[FULL_DROOP]
    limit, gained = _limit(at, f"limit_{joint}"), less_drop
    if joint == "inner_cv":
        limit, gained = limit + rows["differential_drop"], gained + rows["differential_drop"]
    return Finding(
        AT_DROOP[joint],
        value=height,
        limit=limit,
        margin=limit - height,
        applies=driven,
        short_of_factory=_unless_replaced(at, joint, gained),
        details={"further_than_factory_mm": -less_drop},
    )


def _at_bump(at: Situation, joint: str, less_rise: Array) -> Finding:
    """Full bump less the rise at which the joint binds; where nobody tried that, no further than the factory takes it.

    A replaced arm's joint too is held to that; that its own range in bump is not known is said among the assumptions.
    """
    height = at.build.arch_to_hub_mm[FULL_BUMP]
    limit = _unless_replaced(at, joint, _limit(at, f"bump_limit_{joint}"))
    return Finding(
        AT_BUMP[joint],
        value=height,
        limit=limit,
        margin=height - limit,
        short_of_factory=less_rise,
        details={"further_than_factory_mm": -less_rise},
    )


def _limit(at: Situation, name: str) -> Array:
    """Where a joint binds, arch-to-hub in mm; it means nothing where no station's arch-to-hub was taped."""
    limit = at.rows[name]
    return limit if at.rows.axle.travel.anchored else np.full_like(limit, np.nan)


def _unless_replaced(at: Situation, joint: str, of_factory: Array) -> Array:
    """What is known of the factory's joint; of one that the build brings itself it says nothing."""
    if joint not in REPLACED_BY:
        return of_factory
    return np.where(at.rows.changed(REPLACED_BY[joint]), np.nan, of_factory)


def _droop_gained(at: Situation) -> Array:
    """How much less than the factory's wheel the build's drops, mm; negative where it drops further."""
    gained = at.factory.arch_to_hub_mm[FULL_DROOP] - at.build.arch_to_hub_mm[FULL_DROOP]
    same_strut = ~at.rows.changed("strut") & ~at.rows.changed("strut_top_spacer")
    return np.where(np.isnan(gained) & same_strut, 0.0, gained)


def _rise_gained(at: Situation) -> Array:
    """How much less than the factory's wheel the build's rises at full bump, mm; negative where it rises further."""
    rows = at.rows
    build, factory = at.build.arch_to_hub_mm, at.factory.arch_to_hub_mm
    by_bump, by_contact = (build[p] - factory[p] for p in (FULL_BUMP, BUMP_CONTACT))
    same_stop = ~rows.changed("bump_stop")
    if rows.axle.axle.bump_stop_on_rod:
        same_stop = same_stop & ~rows.changed("strut")
    gained = np.where(np.isnan(by_bump) & same_stop, by_contact, by_bump)
    return np.where(np.isnan(gained) & same_stop, 0.0, gained)
