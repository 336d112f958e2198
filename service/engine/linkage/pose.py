"""What the solution of a linkage looks like, whatever its layout."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from service.engine.linkage.arm import Arm
from service.engine.linkage.placement import Placement
from service.engine.linkage.upright import Steering
from service.engine.linkage.vectors import Mask, Vectors

BodyName = Literal["lower_arm", "upper_arm", "upright", "tie_rod"]


@dataclass(frozen=True, slots=True)
class Guides:
    """What leads the upright, in the design position (R, 1, 3) mm; a strut has no upper arm."""

    lower_arm: Arm
    steering: Steering
    upper_arm: Arm | None = None


@dataclass(frozen=True)
class Pose:
    """R geometries in P positions; a position that cannot be reached is not-a-number and not ``reachable``.

    Points (R, P, 3) mm in ISO 8855 axes (x forward, y left, z up): ``lower_ball_joint``, ``upper_ball_joint`` (none
    on a strut), ``tie_rod_end``, ``rack_end`` and ``wheel_centre``. ``spin_axis`` (R, P, 3): the wheel's, a unit
    vector. Arm angles (R, P) rad from the design position, positive when the ball joint rises. ``upright``,
    ``lower_arm``, ``upper_arm`` and ``tie_rod`` are the bodies: ask them where they carry any other point of theirs.
    All but the upright are placed when they are first asked for. ``reachable`` (R, P). ``design``: what leads the
    upright, before it moves.
    """

    lower_ball_joint: Vectors
    tie_rod_end: Vectors
    rack_end: Vectors
    wheel_centre: Vectors
    spin_axis: Vectors
    lower_arm_angle_rad: Vectors
    upright: Placement
    reachable: Mask
    design: Guides
    upper_ball_joint: Vectors | None = None

    @cached_property
    def lower_arm(self) -> Placement:
        """The lower arm."""
        return self.design.lower_arm.placement(self.lower_arm_angle_rad).where(self.reachable)

    @cached_property
    def tie_rod(self) -> Placement:
        """The tie rod, which is free to spin between its two joints, without spin."""
        with np.errstate(all="ignore"):
            return self.design.steering.tie_rod(self.rack_end, self.tie_rod_end)

    @cached_property
    def upper_arm_angle_rad(self) -> Vectors | None:
        """How far the upper arm is turned."""
        arm, held = self.design.upper_arm, self.upper_ball_joint
        return None if arm is None or held is None else arm.angle_rad(held)

    @cached_property
    def upper_arm(self) -> Placement | None:
        """The upper arm; none on a strut."""
        arm, angle = self.design.upper_arm, self.upper_arm_angle_rad
        return None if arm is None or angle is None else arm.placement(angle)

    def body(self, name: BodyName) -> Placement:
        """The body of that name. Raises ``ValueError`` for the upper arm of a layout that has none."""
        body: Placement | None = getattr(self, name)
        if body is None:
            raise ValueError(f"this layout has no {name}")
        return body


def reached_from_design(possible: Mask, angle_rad: Vectors, rack_shift_mm: Vectors) -> Mask:
    """Which positions (..., P) the linkage can get to: those with none in between that is not ``possible``.

    Beyond a toggle there may be angles at which the links could be put together again; the suspension does not get
    there. Only the positions of the same call are known as the ones in between, and only while the rack stands
    still: with a ``rack_shift_mm`` that differs along P each position stands for itself.

    >>> angles = np.array([-0.2, 0.0, 0.2, 0.4, 0.6])
    >>> reached_from_design(np.array([True, True, True, False, True]), angles, np.zeros(1)).tolist()
    [True, True, True, False, False]
    """
    if rack_shift_mm.shape[-1] != 1:
        return possible
    upper = np.where(~possible & (angle_rad >= 0.0), angle_rad, np.inf).min(axis=-1, keepdims=True, initial=np.inf)
    lower = np.where(~possible & (angle_rad <= 0.0), angle_rad, -np.inf).max(axis=-1, keepdims=True, initial=-np.inf)
    return np.asarray(possible & (angle_rad < upper) & (angle_rad > lower))
