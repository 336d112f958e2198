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
    rows = at.rows
    curve = rows.axle.travel.damper
    locked = np.where(np.isfinite(lock), lock, curve.knots_mm[-1])
    length = curve.at(locked, rows.curve_column).span_mm + rows.span_to_damper
    extended = np.where(rows.damper_changed, rows["extended"], rows.factory("droop_span"))
    margin = np.where(np.isfinite(lock), length - extended, NEVER_MM)
    return Finding(IN_DROOP, extended, length, margin, details={"locks_at_arch_to_hub_mm": lock})


def _in_bump(at: Situation, lock: Array) -> Finding:
    rise = at.build.unlocked_bump_mm
    margin = np.where(np.isfinite(lock), rise - lock, np.where(np.isnan(rise), np.nan, NEVER_MM))
    return Finding(IN_BUMP, rise, lock, margin, details={"locks_at_arch_to_hub_mm": lock})


NEVER_MM = 1000.0
"""Margin of a linkage that does not lock within the swing of its arm: more than any wheel travels."""
