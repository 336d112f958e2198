"""The checks, one file for each thing that can go wrong."""

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

Check = Callable[[Situation], list[Finding]]
OF_OUTFIT: tuple[Check, ...] = (
    coil_bind,
    damper_bottoming,
    spring_retention,
    leaves,
    linkage_lock,
    joints,
    tyre_clearance,
    spring_stress,
    spring_buckling,
    coil_gap_recommended,
)
"""What parts on an axle are found to do whatever is on board: it is decided at the ends of the travel."""
OF_LOAD: tuple[Check, ...] = (axle_rating, bar_stress, bump_travel_left, droop_travel_left, ride_height)
"""What depends on the load, be it by the ride height or, as with a torsion bar, by the load that it was set under."""
CHECKS = (*OF_OUTFIT, *OF_LOAD)

__all__ = ["CHECKS", "OF_LOAD", "OF_OUTFIT", "Check", "Finding", "Situation"]
