"""The upright on its lower ball joint, its upper guide and its tie rod: the last part that every layout shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.linkage.circle import Circle, circle_through
from service.engine.linkage.placement import Placement, least_rotation, placement_of
from service.engine.linkage.vectors import Vectors, dot, length, unit


@dataclass(frozen=True, slots=True)
class Steering:
    """What steers the upright, in the design position, mm: three points (..., 3) and the upper end of its axis."""

    lower_ball_joint: Vectors
    axis_top: Vectors
    tie_rod_end: Vectors
    rack_end: Vectors

    def side(self) -> Vectors:
        """On which side of the plane through the steering axis and the rack end the tie-rod end lies."""
        axis = unit(self.axis_top - self.lower_ball_joint)
        circle = circle_through(self.tie_rod_end, self.lower_ball_joint, axis)
        return circle.side_of(self.tie_rod_end, self.rack_end)

    def moved_tie_rod_end(self, axis_top_in_upright: Vectors, lower: Vectors, top: Vectors, rack: Vectors) -> Vectors:
        """Tie-rod end (..., 3) mm, by trilateration.

        ``axis_top_in_upright`` is the point of the upright, as it stands at design, that ``top`` is now; ``lower``
        the lower ball joint and ``rack`` the rack end now. The tie-rod end turns on a circle about the line from
        ``lower`` to ``top`` and stays at the tie rod's length from ``rack``.
        """
        axis = unit(top - lower)
        in_upright = circle_through(
            self.tie_rod_end, self.lower_ball_joint, unit(axis_top_in_upright - self.lower_ball_joint)
        )
        up = dot(self.tie_rod_end - self.lower_ball_joint, in_upright.axis)
        circle = Circle(lower + up[..., None] * axis, axis, in_upright.radius)
        return circle.meets(rack, length(self.tie_rod_end - self.rack_end), self.side())

    def upright(self, axis_top_in_upright: Vectors, lower: Vectors, top: Vectors, tie_rod_end: Vectors) -> Placement:
        """The upright as a body, from three of its points now."""
        return placement_of(
            (self.lower_ball_joint, axis_top_in_upright, self.tie_rod_end),
            (lower, top, tie_rod_end),
        )

    def tie_rod(self, rack_end: Vectors, tie_rod_end: Vectors) -> Placement:
        """The tie rod as a body that does not spin about itself."""
        before, after = unit(self.tie_rod_end - self.rack_end), unit(tie_rod_end - rack_end)
        return Placement(least_rotation(before, after), self.rack_end, rack_end)


def shifted_rack_end(rack_end: Vectors, rack_shift_mm: Vectors) -> Vectors:
    """Rack end (..., 3) mm with the rack moved by ``rack_shift_mm`` (...) to the left, along +y."""
    return np.asarray(rack_end + rack_shift_mm[..., None] * np.array([0.0, 1.0, 0.0]))
