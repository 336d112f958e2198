"""A control arm: two pivots on the body, one ball joint, one degree of freedom."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from service.engine.linkage.circle import Circle, circle_through
from service.engine.linkage.placement import Placement, rotation_about
from service.engine.linkage.vectors import Vectors, cross, dot, unit


@dataclass(frozen=True)
class Arm:
    """``front`` and ``rear`` pivot and ``ball_joint`` in the design position, (..., 3) mm.

    Turning is counted from the design position and positive when the ball joint rises, whichever pivot is which.

    >>> swapped = Arm(np.array([-200.0, 300.0, 0.0]), np.array([150.0, 300.0, 0.0]), np.array([0.0, 700.0, 0.0]))
    >>> swapped.ball_joint_at(np.array([np.pi / 6])).round(9).tolist()
    [[0.0, 646.410161514, 200.0]]
    """

    front: Vectors
    rear: Vectors
    ball_joint: Vectors

    @cached_property
    def axis(self) -> Vectors:
        """Unit vector (..., 3) along the pivots, about which a right-handed turn lifts the ball joint."""
        along = unit(self.rear - self.front)
        rise = cross(along, self.ball_joint - self.front)[..., 2:]
        return np.where(rise < 0.0, -along, along)

    @cached_property
    def circle(self) -> Circle:
        """The circle on which the ball joint runs."""
        return circle_through(self.ball_joint, self.front, self.axis)

    def ball_joint_at(self, angle_rad: Vectors) -> Vectors:
        """Ball joint (..., 3), mm, with the arm turned by ``angle_rad`` (...)."""
        circle = self.circle
        arm = self.ball_joint - circle.centre
        cosine, sine = np.cos(angle_rad)[..., None], np.sin(angle_rad)[..., None]
        return np.asarray(circle.centre + cosine * arm + sine * cross(circle.axis, arm))

    def angle_rad(self, ball_joint: Vectors) -> Vectors:
        """By how much the arm is turned (...) with its ball joint at ``ball_joint`` (..., 3) mm; -pi to pi."""
        circle = self.circle
        before, now = self.ball_joint - circle.centre, ball_joint - circle.centre
        return np.asarray(np.arctan2(dot(circle.axis, cross(before, now)), dot(before, now)))

    def placement(self, angle_rad: Vectors) -> Placement:
        """The arm as a body, turned by ``angle_rad`` (...)."""
        rotation = rotation_about(self.axis, angle_rad)
        return Placement(rotation, self.front, np.broadcast_to(self.front, rotation.shape[:-1]))
