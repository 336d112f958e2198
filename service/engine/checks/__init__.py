"""The checks, one file for each thing that can go wrong, in the order in which they are looked at."""

from __future__ import annotations

from collections.abc import Callable

from service.engine.checks.axle_rating import axle_rating
from service.engine.checks.coil_bind import coil_bind
from service.engine.checks.damper_bottoming import damper_bottoming
from service.engine.checks.finding import Finding, Situation
from service.engine.checks.joints import joints
from service.engine.checks.leaves import leaves
from service.engine.checks.linkage_lock import linkage_lock
from service.engine.checks.spring_retention import spring_retention
from service.engine.checks.spring_steel import coil_gap_recommended, spring_buckling, spring_stress
from service.engine.checks.torsion_bar import bar_stress
from service.engine.checks.travel_left import bump_travel_left, droop_travel_left, ride_height
from service.engine.checks.tyre_clearance import tyre_clearance

CHECKS: tuple[Callable[[Situation], list[Finding]], ...] = (
    coil_bind,
    damper_bottoming,
    spring_retention,
    leaves,
    linkage_lock,
    joints,
    tyre_clearance,
    axle_rating,
    spring_stress,
    spring_buckling,
    bar_stress,
    coil_gap_recommended,
    bump_travel_left,
    droop_travel_left,
    ride_height,
)

__all__ = ["CHECKS", "Finding", "Situation"]
