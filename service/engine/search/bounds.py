"""The second bound: what fails in the best corner of a block of combinations fails in all of it.

A block is what remains open once everything is chosen but the kinds that bring one number: spacers on top of the
strut, under the spring and at the bump stop, and the strap. Along each of these numbers a margin or the lift only rises
or only falls (by the mechanics of ``positions``; the tests try it on any axle that they can think of):

    stop spacer up     bump contact and full bump come sooner: more coil, more damper, joints taken less far in bump
    top spacer up      full droop goes lower, coil and damper are pressed further at a stop off the rod
    spring spacer up   the coil is pressed further everywhere
    strap shorter      full droop ends higher

So four corners tell the best that any combination of a block can do, and between which lifts it lies.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.brought import Flags
from service.engine.checks.finding import Label
from service.engine.search.as_read import SLACK, AsRead
from service.engine.search.axes import ORDERED, Axis
from service.engine.sensitivity import Array

JOINTS_AND_HOSE = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")
LEAST, MOST = -1, 1
CORNERS: tuple[dict[str, int], ...] = (
    {"top_spacer": LEAST, "spring_spacer": LEAST, "stop_spacer": MOST, "strap": LEAST},
    {"top_spacer": MOST, "spring_spacer": MOST, "stop_spacer": MOST, "strap": LEAST},
    {"top_spacer": LEAST, "spring_spacer": LEAST, "stop_spacer": LEAST, "strap": LEAST},
    {"top_spacer": MOST, "spring_spacer": MOST, "stop_spacer": MOST, "strap": MOST},
)
BEST_FOR_BUMP, BEST_FOR_HOLD, LOWEST, HIGHEST = range(4)


def best_corner(label: Label) -> int | None:
    """The corner in which a finding has its greatest margin; none where it is not known to have one.

    Of joints only those whose limit is a wheel position: an angle may fall again beyond its neutral.

    >>> best_corner(Label("coil_bind", "full_bump", "coil_gap_mm")) == BEST_FOR_BUMP
    True
    """
    if label.case == "no_travel":  # a thicker spacer at the stop is the worse one here
        return None
    if label.check in ("coil_bind", "damper_bottoming"):
        return BEST_FOR_BUMP
    if label.check == "spring_retention":
        return BEST_FOR_HOLD
    if label.check in JOINTS_AND_HOSE and label.quantity == "arch_to_hub_mm":
        return {"full_droop": BEST_FOR_BUMP, "full_bump": BEST_FOR_HOLD}.get(label.at)
    return None


def corner_choice(axis: Axis, usable: Flags, corner: int) -> int:
    """The choice of an ordered axis at a corner, of those that are ``usable`` (choices,)."""
    assert axis.order is not None  # noqa: S101 - ordered axes alone have corners
    least = CORNERS[corner][ORDERED[axis.kind][0]] == LEAST
    numbers = np.where(usable, axis.order, np.inf if least else -np.inf)
    return int(np.argmin(numbers) if least else np.argmax(numbers))


@dataclass(frozen=True, slots=True)
class Bounded:
    """Of n blocks: which ``checks`` no combination of theirs can pass, ``hopeless`` (checks, n), and the bounds of
    their lift (n,), not-a-number where it is not known.
    """

    checks: tuple[str, ...]
    hopeless: Flags
    lowest_mm: Array
    highest_mm: Array

    @property
    def count(self) -> Array:
        """How many checks are hopeless in each block."""
        return np.asarray(self.hopeless.sum(axis=0))


def bounded(corners: tuple[AsRead, ...], target: tuple[float, float] | None) -> Bounded:
    """Bounds of blocks from the findings at their four corners; ``target`` is the lift wanted and its tolerance."""
    names: list[str] = []
    hopeless: list[Flags] = []
    for corner in (BEST_FOR_BUMP, BEST_FOR_HOLD):
        of = np.array([best_corner(finding.label) == corner for finding in corners[corner].findings])
        checks, failing = corners[corner].failing(of)
        names += checks
        hopeless += list(failing)
    lowest, highest = corners[LOWEST].lift_mm, corners[HIGHEST].lift_mm
    if target is not None:
        wanted, tolerance = target
        names.append("lift")
        hopeless.append((highest < wanted - tolerance - SLACK) | (lowest > wanted + tolerance + SLACK))
    merged = {name: np.zeros(len(lowest), dtype=bool) for name in names}
    for name, flags in zip(names, hopeless, strict=True):
        merged[name] = merged[name] | flags
    return Bounded(tuple(merged), np.array(list(merged.values())), lowest, highest)
