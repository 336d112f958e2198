"""Joints, drive shafts and hoses: how far each may be taken, by the wheel's travel or by its own angle.

On a taped axle a joint's limit is the arch-to-hub at which it binds. A survey gives its angle at every wheel position;
its limit is then an angle, unless only the arch-to-hub is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from service.engine.checks.finding import NOT_KNOWN, Finding, Flags, Label, Situation
from service.engine.followers import followed_of
from service.engine.layouts import DRIVE_JOINTS, FRONT_END_JOINTS
from service.engine.places import BUMP_CONTACT, FULL_BUMP, FULL_DROOP
from service.engine.sensitivity import Array

UNDRIVEN = "This axle is not driven: it has no drive shafts."


def _label(joint: str, at: str, quantity: str = "arch_to_hub_mm", case: str = "") -> Label:
    return Label(joint, at, quantity, why_not=UNDRIVEN if joint in DRIVE_JOINTS else "", case=case)


ALL = (*FRONT_END_JOINTS, *DRIVE_JOINTS)
AT_DROOP = {joint: _label(joint, "full_droop") for joint in (*ALL, "brake_hose")}
AT_BUMP = {joint: _label(joint, "full_bump", case="bump") for joint in ALL}
LOWERED_INNER_CV = _label("inner_cv", "full_bump", case="lowered")
USUAL_DROP_MM = 30.0
"""One that is lowered by no more is taken to leave the shafts in their range at full bump (common practice)."""


class Follower(NamedTuple):
    """What a finding about something that follows the wheel is made of: its label, the slot of its limit, and the name
    of what it tells of the factory.
    """

    label: Label
    limit: str
    further: str


def _follower(joint: str, at: str, quantity: str, case: str) -> Follower:
    kind, _, unit = quantity.partition("_")
    return Follower(_label(joint, at, quantity, case), f"{kind}_limit_{joint}", f"further_than_factory_{unit}")


FOLLOWERS = {
    **{(joint, FULL_DROOP): _follower(joint, "full_droop", "angle_deg", "angle") for joint in ALL},
    **{(joint, FULL_BUMP): _follower(joint, "full_bump", "angle_deg", "angle_bump") for joint in ALL},
    ("outer_cv_left_lock", FULL_DROOP): _follower("outer_cv", "full_droop", "angle_deg", "left_lock"),
    ("outer_cv_right_lock", FULL_DROOP): _follower("outer_cv", "full_droop", "angle_deg", "right_lock"),
    ("outer_cv_left_lock", FULL_BUMP): _follower("outer_cv", "full_bump", "angle_deg", "left_lock_bump"),
    ("outer_cv_right_lock", FULL_BUMP): _follower("outer_cv", "full_bump", "angle_deg", "right_lock_bump"),
    ("plunge", FULL_DROOP): _follower("inner_cv", "full_droop", "plunge_mm", "plunge"),
    ("plunge", FULL_BUMP): _follower("inner_cv", "full_bump", "plunge_mm", "plunge"),
}
"""What follows the wheel of a surveyed axle, and where."""
HOSE_ARTICULATED = _label("brake_hose", "articulated", case="articulated")
REPLACED_BY = {"upper_ball_joint": "upper_arm", "brake_hose": "brake_hose"}
MOVING_DROOP = (
    "strut", "damper", "strut_top_spacer", "leaf_pack", "leaf_block", "shackle", "upper_arm", "differential_spacer",
)  # fmt: skip
MOVING_BUMP = ("bump_stop", "strut", "damper", "strut_top_spacer", "upper_arm", "differential_spacer")
"""Kinds that may take the wheel, or a joint at the same wheel position, further."""


class Gained(NamedTuple):
    """What a build gains on the factory, mm, (n, K), and how much further it goes: the same with the other sign."""

    gained: Array
    further: Array


def joints(at: Situation) -> list[Finding]:
    """Every joint that the layout has: at full droop, ball joints at full bump too.

    Beside its angle a joint is judged by the wheel's height only where a height at which it binds is known.
    """
    axle = at.rows.axle.axle
    less_drop, less_rise = (Gained(gained, -gained) for gained in (droop_gained(at), rise_gained(at)))
    by_angle = _surveyed(at) if axle.surveyed else []
    surveyed = {finding.label.check for finding in by_angle if finding.label.quantity == "angle_deg"}
    all_joints = (*axle.traits.ball_joints, *axle.traits.drive_joints)
    by_drop = {joint: joint not in surveyed or ~at.rows.unknown(f"limit_{joint}") for joint in all_joints}
    by_rise = {joint: joint not in surveyed or _binds_in_bump(at, joint) for joint in axle.traits.ball_joints}
    return [
        *by_angle,
        *(_at_droop(at, j, less_drop, by_drop[j]) for j in axle.traits.ball_joints if np.any(by_drop[j])),
        *(_at_bump(at, j, less_rise, by_rise[j]) for j in axle.traits.ball_joints if np.any(by_rise[j])),
        *(_at_droop(at, j, less_drop, by_drop[j]) for j in axle.traits.drive_joints if np.any(by_drop[j])),
        *_lowered_inner_cv(at, less_rise),
        _hose_at_droop(at, less_drop),
        *_hose_articulated(at),
    ]


def _driven(at: Situation, joint: str) -> bool:
    return at.rows.axle.axle.envelope.driven or joint not in DRIVE_JOINTS


def _binds_in_bump(at: Situation, joint: str) -> Flags:
    """Where a rise at which a joint binds is known, or no angle of it but a drop; (n, 1)."""
    known = ~at.rows.unknown(f"bump_limit_{joint}")
    if joint in REPLACED_BY:
        known = known & ~at.rows.changed(REPLACED_BY[joint])
    return known | _taped_alone(at, joint, f"angle_limit_{joint}")


def _at_droop(at: Situation, joint: str, less_drop: Gained, applies: bool | Flags) -> Finding:
    """Arch-to-hub at which a joint binds less full droop, mm."""
    rows, height = at.rows, at.build.arch_to_hub_mm[FULL_DROOP]
    limit, gained = limit_mm(at, f"limit_{joint}"), less_drop.gained
    if joint == "inner_cv" and not rows.axle.axle.surveyed:
        limit = limit + rows["differential_drop"] * rows["differential_credit"]
        gained = gained + rows["differential_drop"]
    return Finding(
        AT_DROOP[joint],
        value=height,
        limit=limit,
        margin=limit - height,
        applies=_driven(at, joint) and applies,
        short_of_factory=_unless_replaced(at, joint, gained),
        details={"further_than_factory_mm": less_drop.further},
    )


def _lowered_inner_cv(at: Situation, less_rise: Gained) -> list[Finding]:
    """At full bump a lowered differential bends the shafts of a taped axle as if the wheel rose as much further.

    Looked at where it is lowered by more than is usual.
    """
    rows = at.rows
    drop = rows["differential_drop"]
    lowered = drop[:, :1] > USUAL_DROP_MM
    if rows.axle.axle.surveyed or not lowered.any():
        return []
    height, limit = at.build.arch_to_hub_mm[FULL_BUMP], limit_mm(at, "bump_limit_inner_cv") + drop
    return [
        Finding(
            LOWERED_INNER_CV,
            value=height,
            limit=limit,
            margin=height - limit,
            applies=_driven(at, "inner_cv") & lowered,
            short_of_factory=less_rise.gained - drop,
            details={"further_than_factory_mm": less_rise.further + drop},
        )
    ]


def _hose_at_droop(at: Situation, less_drop: Gained) -> Finding:
    """The brake hose as any joint; of a surveyed one its span, from fixing to fixing, is told too."""
    finding, surveyed = _at_droop(at, "brake_hose", less_drop, applies=True), at.rows.axle.travel.surveyed
    if surveyed is None or "hose_span" not in surveyed.angles.names:
        return finding
    row = followed_of(surveyed.angles.names).ends
    spans = {"hose_span_mm": at.build.followers[row], "factory_hose_span_mm": at.factory.followers[row]}
    return replace(finding, details={**finding.details, **spans})


def _at_bump(at: Situation, joint: str, less_rise: Gained, applies: bool | Flags) -> Finding:
    """Full bump less the rise at which the joint binds; where nobody tried that, no further than the factory takes it.

    A replaced arm's joint too is held to that; that its own range in bump is not known is said among the assumptions.
    """
    height = at.build.arch_to_hub_mm[FULL_BUMP]
    limit = _unless_replaced(at, joint, limit_mm(at, f"bump_limit_{joint}"))
    return Finding(
        AT_BUMP[joint],
        value=height,
        limit=limit,
        margin=height - limit,
        applies=applies,
        short_of_factory=less_rise.gained,
        details={"further_than_factory_mm": less_rise.further},
    )


def _surveyed(at: Situation) -> list[Finding]:
    """Greatest angle, and plunge either way, less the joint's at a position; for every joint that the survey tells of
    and whose limit is no arch-to-hub alone.
    """
    assert at.rows.axle.travel.surveyed is not None  # noqa: S101 - the caller has a surveyed axle
    followed = followed_of(at.rows.axle.travel.surveyed.angles.names)
    build = at.build.followers[: followed.ends]
    gained = _as_the_factory(at, at.factory.followers[: followed.ends] - build, followed.places)
    findings, applies = [], dict[str, bool | Flags]()
    for name, place, value, less, more in zip(followed.names, followed.places, build, gained, -gained, strict=False):
        label, slot, further = FOLLOWERS[name, place]
        if slot not in applies:
            applies[slot] = _driven(at, label.check) & ~_taped_alone(at, label.check, slot)
        limit = at.rows[slot]
        findings.append(
            Finding(
                label,
                value=value,
                limit=limit,
                margin=limit - value,
                applies=applies[slot],
                short_of_factory=_unless_replaced(at, label.check, less),
                details={further: more},
            )
        )
    return findings


def _taped_alone(at: Situation, joint: str, limit: str) -> Flags:
    """Where only the arch-to-hub at which a joint binds is known, and not its ``limit``, an angle or plunge; (n, 1).

    A drop at which the joint was found to bind holds for its plunge too: an unknown plunge is then not asked for.
    """
    return at.rows.unknown(limit) & ~at.rows.unknown(f"limit_{joint}")


def _as_the_factory(at: Situation, gained: Array, places: Sequence[int]) -> Array:
    """What a build gains on the factory (q, n, K), at the ``places`` of the travel; nothing where a position is not
    placed but nothing that moves it changed.
    """
    unknown = np.isnan(gained)
    if not unknown.any():
        return gained
    unmoved = {FULL_DROOP: ~at.rows.changed(*MOVING_DROOP), FULL_BUMP: ~at.rows.changed(*MOVING_BUMP)}
    return np.where(unknown & np.stack([unmoved[place] for place, _ in zip(places, gained, strict=False)]), 0.0, gained)


def _hose_articulated(at: Situation) -> list[Finding]:
    """A solid axle's lower wheel hangs lower when the other one is pushed up, as far as springs and track say."""
    if not at.rows.axle.axle.traits.solid:
        return []
    lower, limit = at.build.ends.articulated_mm[0], limit_mm(at, "limit_brake_hose")
    gained = articulated_gained(at, lower=True)
    return [
        Finding(
            HOSE_ARTICULATED,
            value=lower,
            limit=limit,
            margin=limit - lower,
            applies=~np.isnan((at.rows["track"] + at.rows["spring_base"])[:, :1]),
            short_of_factory=_unless_replaced(at, "brake_hose", gained),
            details={"further_than_factory_mm": -gained},
        )
    ]


def limit_mm(at: Situation, name: str) -> Array:
    """Where a joint binds, arch-to-hub in mm; it means nothing where no station's arch-to-hub was taped."""
    limit = at.rows[name]
    return limit if at.rows.axle.travel.anchored else limit + NOT_KNOWN


def _unless_replaced(at: Situation, joint: str, of_factory: Array) -> Array:
    """What is known of the factory's joint; of one that the build brings itself it says nothing."""
    if joint not in REPLACED_BY:
        return of_factory
    return np.where(at.rows.changed(REPLACED_BY[joint]), np.nan, of_factory)


def droop_gained(at: Situation) -> Array:
    """How much less than the factory's wheel the build's drops, mm; negative where it drops further."""
    gained = at.factory.arch_to_hub_mm[FULL_DROOP] - unproven_droop(at) - at.build.arch_to_hub_mm[FULL_DROOP]
    return np.where(np.isnan(gained) & ~at.rows.changed(*MOVING_DROOP), 0.0, gained)


def unproven_droop(at: Situation) -> Array:
    """How much of the factory's full droop, mm, a build cannot be held to, as nobody saw the wheel hang there.

    Where the factory strut by its length lets the wheel hang lower than it was taped, far lower than a tape errs, that
    is nothing to hold another one to. Nor is where leaves hang that were never seen to, as that is reckoned rather too
    low. Another damper alone takes them further by no more than it is longer, and no further if it is shorter, wherever
    they hang: there the dampers are compared.
    """
    rows, of_factory = at.rows, at.factory.arch_to_hub_mm[FULL_DROOP]
    if not _unseen_leaves(at):
        return np.where(rows.damper_changed, np.maximum(of_factory - rows.factory("proven_droop"), 0.0), 0.0)
    shorter = at.factory.ends.damper_droop_mm - at.build.ends.damper_droop_mm
    unproven = np.where(rows.damper_changed, of_factory - at.build.arch_to_hub_mm[FULL_DROOP] - shorter, 0.0)
    return np.where(rows.changed("leaf_pack", "leaf_block", "shackle"), np.nan, unproven)


def _unseen_leaves(at: Situation) -> bool:
    """Whether the axle hangs in leaves that nobody taped at full droop."""
    return at.rows.axle.axle.traits.spring == "leaf" and bool(np.isnan(at.rows.factory("droop_height")[0, 0]))


def articulated_gained(at: Situation, *, lower: bool) -> Array:
    """How much less far than the factory's the lower, or upper, wheel of an articulated beam goes, mm.

    A shorter damper makes up for no further rise of the other wheel where unseen leaves may end the droop before it.
    """
    rows, sign, place = at.rows, *((1.0, 0) if lower else (-1.0, 1))
    further = sign * (at.factory.ends.articulated_mm[place] - at.build.ends.articulated_mm[place])
    gained = further - 0.5 * (rows["track"] / rows["spring_base"] + sign) * unproven_droop(at)
    if _unseen_leaves(at):
        gained = np.where(rows.damper_changed & (rise_gained(at)[:, :1] < 0.0), np.nan, gained)
    return np.where(np.isnan(gained) & ~rows.changed(*MOVING_DROOP, *MOVING_BUMP), 0.0, gained)


def rise_gained(at: Situation) -> Array:
    """How much less than the factory's wheel the build's rises at full bump, mm; negative where it rises further."""
    rows = at.rows
    build, factory = at.build.arch_to_hub_mm, at.factory.arch_to_hub_mm
    by_bump, by_contact = (build[p] - factory[p] for p in (FULL_BUMP, BUMP_CONTACT))
    same_stop = ~rows.changed("bump_stop") & ~rows.strut_moved
    if rows.axle.axle.bump_stop_on_rod:
        same_stop = same_stop & ~rows.damper_changed
    gained = np.where(np.isnan(by_bump) & same_stop, by_contact, by_bump)
    return np.where(np.isnan(gained) & same_stop, 0.0, gained)
