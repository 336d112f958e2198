"""A surveyed linkage must not lock before strut and stop end its travel."""

from __future__ import annotations

import numpy as np

from service.engine.checks.finding import Finding, Label, Situation
from service.engine.sensitivity import Array

IN_DROOP = Label("linkage_lock", "full_droop", "strut_length_mm")
IN_BUMP = Label("linkage_lock", "full_bump", "arch_to_hub_mm", case="bump")


def linkage_lock(at: Situation) -> list[Finding]:
    """Strut length at which the linkage locks less the extended length; full bump less the arch-to-hub of the lock.

    mm; nothing on an axle that was not surveyed. Infinite, and so clear, where the linkage does not lock.
    """
    surveyed, rows = at.rows.axle.travel.surveyed, at.rows
    if surveyed is None:
        return []
    in_bump, in_droop = (rows.spread(lock) for lock in surveyed.locks_mm)
    return [_in_droop(at, in_droop), _in_bump(at, in_bump)]


def _in_droop(at: Situation, lock: Array) -> Finding:
    """By the strut's length, or by what a strap that holds the wheel before leaves of it."""
    rows, curve = at.rows, at.rows.axle.travel.damper
    locks, strapped = np.isfinite(lock), np.isfinite(rows["strap"])
    length = curve.at(np.where(locks, lock, curve.knots_mm[-1]), rows.curve_column).span_mm + rows.span_to_damper
    extended = np.where(rows.damper_changed, rows["extended"], rows.factory("droop_span"))
    if strapped.any():
        strap = np.where(strapped, rows["strap"], np.nan) + np.zeros_like(length)
        extended = np.fmin(extended, curve.at(strap, rows.curve_column).span_mm + rows.span_to_damper)
    margin = np.where(locks, length - extended, NEVER_MM)
    unmoved = ~rows.changed("strut", "damper", "strut_top_spacer", "upper_arm")
    return Finding(
        IN_DROOP,
        value=extended,
        limit=length,
        margin=margin,
        short_of_factory=np.where(np.isnan(margin) & unmoved, 0.0, np.nan),
        details={"locks_at_arch_to_hub_mm": lock},
    )


def _in_bump(at: Situation, lock: Array) -> Finding:
    rise, rows = at.build.ends.unlocked_bump_mm, at.rows
    margin = np.where(np.isfinite(lock), rise - lock, NEVER_MM)
    unmoved = ~rows.changed("bump_stop", "strut", "damper", "upper_arm")
    return Finding(
        IN_BUMP,
        value=rise,
        limit=lock,
        margin=margin,
        short_of_factory=np.where(np.isnan(margin) & unmoved, 0.0, np.nan),
        details={"locks_at_arch_to_hub_mm": lock},
    )


NEVER_MM = 1000.0
"""Margin of a linkage that does not lock within the swing of its arm: more than any wheel travels."""
