"""Joints, drive shafts and hoses: how far each may be taken, by the wheel's travel or by its own angle.

On a taped axle a joint's limit is the arch-to-hub at which it binds. A survey gives its angle at every wheel position;
its limit is then an angle, unless only the arch-to-hub is known.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.axle import CompiledAxle
from service.engine.checks.finding import NOT_KNOWN, Finding, Flags, Label, Situation
from service.engine.layouts import DRIVE_JOINTS, FRONT_END_JOINTS
from service.engine.positions import BUMP_CONTACT, FULL_BUMP, FULL_DROOP, factory_positions
from service.engine.rows import Rows
from service.engine.sensitivity import Array

UNDRIVEN = "This axle is not driven: it has no drive shafts."


def _label(joint: str, at: str, quantity: str = "arch_to_hub_mm", case: str = "") -> Label:
    return Label(joint, at, quantity, why_not=UNDRIVEN if joint in DRIVE_JOINTS else "", case=case)


ALL = (*FRONT_END_JOINTS, *DRIVE_JOINTS)
AT_DROOP = {joint: _label(joint, "full_droop") for joint in (*ALL, "brake_hose")}
AT_BUMP = {joint: _label(joint, "full_bump", case="bump") for joint in ALL}
ANGLE = {
    (joint, at): _label(joint, at, "angle_deg", f"angle{case}")
    for joint in ALL
    for at, case in (("full_droop", ""), ("full_bump", "_bump"))
}
AT_LOCK = {side: _label("outer_cv", "full_droop", "angle_deg", f"{side}_lock") for side in ("left", "right")}
PLUNGE = {at: _label("inner_cv", at, "plunge_mm", "plunge") for at in ("full_droop", "full_bump")}
HOSE_ARTICULATED = _label("brake_hose", "articulated", case="articulated")
REPLACED_BY = {"upper_ball_joint": "upper_arm", "brake_hose": "brake_hose"}
MOVING_DROOP = (
    "strut", "damper", "strut_top_spacer", "leaf_pack", "leaf_block", "shackle", "upper_arm", "differential_spacer",
)  # fmt: skip
MOVING_BUMP = ("bump_stop", "strut", "damper", "strut_top_spacer", "upper_arm", "differential_spacer")
"""Kinds that may take the wheel, or a joint at the same wheel position, further."""
PLACES = {"full_droop": FULL_DROOP, "full_bump": FULL_BUMP}


def joints(at: Situation) -> list[Finding]:
    """Every joint that the layout has: at full droop, ball joints at full bump too."""
    axle = at.rows.axle.axle
    less_drop, less_rise = droop_gained(at), rise_gained(at)
    by_angle = _surveyed_angles(at) if axle.surveyed else []
    surveyed = {finding.label.check for finding in by_angle if finding.label.quantity == "angle_deg"}
    return [
        *by_angle,
        *(_at_droop(at, joint, less_drop, joint in surveyed) for joint in axle.traits.ball_joints),
        *(_at_bump(at, joint, less_rise, joint in surveyed) for joint in axle.traits.ball_joints),
        *(_at_droop(at, joint, less_drop, joint in surveyed) for joint in axle.traits.drive_joints),
        _at_droop(at, "brake_hose", less_drop, by_angle=False),
        *_hose_articulated(at),
    ]


def _driven(at: Situation, joint: str) -> bool:
    return at.rows.axle.axle.envelope.driven or joint not in DRIVE_JOINTS


def _at_droop(at: Situation, joint: str, less_drop: Array, by_angle: bool) -> Finding:
    """Arch-to-hub at which a joint binds less full droop, mm; beside its angle, where that arch-to-hub is known."""
    rows, height = at.rows, at.build.arch_to_hub_mm[FULL_DROOP]
    limit, gained = limit_mm(at, f"limit_{joint}"), less_drop
    if joint == "inner_cv" and not rows.axle.axle.surveyed:
        limit = limit + rows["differential_drop"] * rows["differential_credit"]
        gained = gained + rows["differential_drop"]
    return Finding(
        AT_DROOP[joint],
        value=height,
        limit=limit,
        margin=limit - height,
        applies=_driven(at, joint) & (~np.isnan(limit[:, :1]) | np.array(not by_angle)),
        short_of_factory=_unless_replaced(at, joint, gained),
        details={"further_than_factory_mm": -less_drop},
    )


def _at_bump(at: Situation, joint: str, less_rise: Array, by_angle: bool) -> Finding:
    """Full bump less the rise at which the joint binds; where nobody tried that, no further than the factory takes it.

    A replaced arm's joint too is held to that; that its own range in bump is not known is said among the assumptions.
    Beside its angle only where that rise, or no angle but a drop, is known.
    """
    height = at.build.arch_to_hub_mm[FULL_BUMP]
    limit = _unless_replaced(at, joint, limit_mm(at, f"bump_limit_{joint}"))
    return Finding(
        AT_BUMP[joint],
        value=height,
        limit=limit,
        margin=height - limit,
        applies=~np.isnan(limit[:, :1]) | _taped_alone(at, joint) | np.array(not by_angle),
        short_of_factory=less_rise,
        details={"further_than_factory_mm": -less_rise},
    )


def _surveyed_angles(at: Situation) -> list[Finding]:
    """Findings by angle, for every joint whose angle the survey tells and whose limit is no arch-to-hub alone."""
    build = _angles_at(at.rows.axle, at.build.arch_to_hub_mm, at.rows.curve_column)
    factory = _factory_angles(at.rows.axle.factory, at.rows)
    findings = []
    for joint in (name for name in ALL if name in build):
        for index, place in enumerate(PLACES):
            if joint != "outer_cv" or place == "full_droop":
                findings.append(_by_angle(at, ANGLE[joint, place], build[joint][index], factory[joint][index]))
    for side, label in AT_LOCK.items():
        turned = f"outer_cv_{side}_lock"
        if turned in build:
            findings.append(_by_angle(at, label, build[turned][0], factory[turned][0]))
    if "plunge" in build:
        both = zip(PLACES, build["plunge"], factory["plunge"], strict=True)
        findings += [_by_plunge(at, PLUNGE[place], np.abs(own), np.abs(others)) for place, own, others in both]
    return findings


def _angles_at(axle: CompiledAxle, heights: Array, column: NDArray[np.intp]) -> dict[str, Array]:
    """Everything that follows the wheel, at full droop and at full bump; name -> (2, n, K)."""
    assert axle.travel.surveyed is not None  # noqa: S101 - the caller has a surveyed axle
    return axle.travel.surveyed.at(heights[[FULL_DROOP, FULL_BUMP]], column)


def _factory_angles(axle: CompiledAxle, rows: Rows) -> dict[str, Array]:
    """The same of the factory axle, kept with it."""
    if "angles" not in axle.kept:
        own = np.arange(axle.columns.count)
        axle.kept["angles"] = _angles_at(axle, factory_positions(axle).arch_to_hub_mm, own)
    kept = axle.kept["angles"]
    assert isinstance(kept, dict)  # noqa: S101 - one kind of value is kept under this name
    return {name: angle.take(rows.curve_column, axis=-1) for name, angle in kept.items()}


def _taped_alone(at: Situation, joint: str) -> Flags:
    """Where only the arch-to-hub at which a joint binds is known, and no angle; (n, 1)."""
    return np.isnan(at.rows[f"angle_limit_{joint}"][:, :1]) & ~np.isnan(at.rows[f"limit_{joint}"][:, :1])


def _as_the_factory(at: Situation, label: Label, gained: Array) -> Array:
    """What a build gains on the factory; nothing where a position is not placed but nothing that moves it changed."""
    moving = MOVING_DROOP if label.at == "full_droop" else MOVING_BUMP
    return np.where(np.isnan(gained) & ~at.rows.changed(*moving), 0.0, gained)


def _by_angle(at: Situation, label: Label, angle: Array, of_factory: Array) -> Finding:
    """Greatest angle less the joint's at a position, degrees."""
    limit = at.rows[f"angle_limit_{label.check}"]
    gained = _as_the_factory(at, label, of_factory - angle)
    return Finding(
        label,
        value=angle,
        limit=limit,
        margin=limit - angle,
        applies=_driven(at, label.check) & ~_taped_alone(at, label.check),
        short_of_factory=_unless_replaced(at, label.check, gained),
        details={"further_than_factory_deg": -gained},
    )


def _by_plunge(at: Situation, label: Label, plunge: Array, of_factory: Array) -> Finding:
    """Greatest plunge either way less the shaft's at a position, mm.

    A drop at which the joint was found to bind holds for its plunge too: an unknown plunge is then not asked for.
    """
    limit = at.rows["plunge_limit_inner_cv"]
    settled = np.isnan(limit[:, :1]) & ~np.isnan(at.rows["limit_inner_cv"][:, :1])
    gained = _as_the_factory(at, label, of_factory - plunge)
    return Finding(
        label,
        value=plunge,
        limit=limit,
        margin=limit - plunge,
        applies=_driven(at, label.check) & ~settled,
        short_of_factory=gained,
        details={"further_than_factory_mm": -gained},
    )


def _hose_articulated(at: Situation) -> list[Finding]:
    """A solid axle's lower wheel hangs lower when the other one is pushed up, as far as springs and track say."""
    if not at.rows.axle.axle.traits.solid:
        return []
    lower, of_factory = at.build.articulated_mm[0], at.factory.articulated_mm[0]
    limit = limit_mm(at, "limit_brake_hose")
    unmoved = ~at.rows.changed(*MOVING_DROOP, *MOVING_BUMP)
    gained = np.where(np.isnan(of_factory - lower) & unmoved, 0.0, of_factory - lower)
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
    gained = at.factory.arch_to_hub_mm[FULL_DROOP] - at.build.arch_to_hub_mm[FULL_DROOP]
    return np.where(np.isnan(gained) & ~at.rows.changed(*MOVING_DROOP), 0.0, gained)


def rise_gained(at: Situation) -> Array:
    """How much less than the factory's wheel the build's rises at full bump, mm; negative where it rises further."""
    rows = at.rows
    build, factory = at.build.arch_to_hub_mm, at.factory.arch_to_hub_mm
    by_bump, by_contact = (build[p] - factory[p] for p in (FULL_BUMP, BUMP_CONTACT))
    same_stop = ~rows.changed("bump_stop")
    if rows.axle.axle.bump_stop_on_rod:
        same_stop = same_stop & ~rows.damper_changed
    gained = np.where(np.isnan(by_bump) & same_stop, by_contact, by_bump)
    return np.where(np.isnan(gained) & same_stop, 0.0, gained)
