"""How much of the factory's travel either way a build leaves at ride, and whether it rides where its owner wants it."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import Finding, Label, Situation
from service.engine.places import BUMP_CONTACT, FULL_BUMP, FULL_DROOP, RIDE
from service.engine.sensitivity import Array

PER_CENT = 100.0
BUMP_TRAVEL_LEFT = Label("bump_travel_left", "ride", "bump_travel_left_percent", required=False)
DROOP_TRAVEL_LEFT = Label("droop_travel_left", "ride", "droop_travel_left_percent", required=False)
RIDE_HEIGHT = Label("ride_height", "ride", "lift_mm", required=False, why_not="No lift was asked for.")


def bump_travel_left(at: Situation) -> list[Finding]:
    """Travel from ride up to full bump over the factory's, per cent, less the policy's floor; advisory.

    To bump contact instead, for build and factory alike, where full bump cannot be placed.
    """
    build, factory = at.build.arch_to_hub_mm, at.factory.arch_to_hub_mm
    placed = ~np.isnan(build[FULL_BUMP] + factory[FULL_BUMP])
    left = np.where(placed, build[RIDE] - build[FULL_BUMP], build[RIDE] - build[BUMP_CONTACT])
    whole = np.where(placed, factory[RIDE] - factory[FULL_BUMP], factory[RIDE] - factory[BUMP_CONTACT])
    return [_share_left(at, BUMP_TRAVEL_LEFT, left, whole)]


def droop_travel_left(at: Situation) -> list[Finding]:
    """Travel from ride down to full droop over the factory's, per cent, less the policy's floor; advisory."""
    build, factory = at.build.arch_to_hub_mm, at.factory.arch_to_hub_mm
    left, whole = build[FULL_DROOP] - build[RIDE], factory[FULL_DROOP] - factory[RIDE]
    return [_share_left(at, DROOP_TRAVEL_LEFT, left, whole)]


def _share_left(at: Situation, label: Label, left: Array, whole: Array) -> Finding:
    share = PER_CENT * left / np.where(whole > 0.0, whole, np.nan)
    floor = np.full((1, 1), at.rows.axle.axle.policy.travel_floor_percent)
    return Finding(
        label,
        value=share,
        limit=floor,
        margin=share - floor,
        details={"travel_left_mm": left, "factory_travel_mm": whole},
    )


def ride_height(at: Situation) -> list[Finding]:
    """Tolerance less the distance of the lift from the one that was asked for, mm; advisory."""
    target, lift = at.rows["target_lift"], at.build.lift_mm
    stated = at.rows["lift_tolerance"]
    tolerance = np.where(np.isnan(stated), at.rows.axle.axle.policy.lift_tolerance_mm, stated)
    return [
        Finding(
            RIDE_HEIGHT,
            value=lift,
            limit=target,
            margin=tolerance - np.abs(lift - target),
            applies=~at.rows.unknown("target_lift"),
            details={"tolerance_mm": tolerance},
        )
    ]
