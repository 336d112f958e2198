"""The circle of a joint that turns about an axis, and where it meets the sphere of a rigid link.

A ball joint that an arm carries runs on a circle about the arm's pivot axis; a link of fixed length from a known
point keeps its other end on a sphere about that point. They meet in two places, one on either side of the plane
through the axis and the sphere's centre. A linkage cannot get from one to the other without passing a toggle,
where both are one: so the side of the design position is the side of every position.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.linkage.vectors import Vectors, cross, dot, length, root_or_nan


@dataclass(frozen=True, slots=True)
class Circle:
    """``centre`` (..., 3) mm, ``axis`` (..., 3) a unit vector normal to its plane, ``radius`` (...) mm."""

    centre: Vectors
    axis: Vectors
    radius: Vectors

    def side_of(self, point: Vectors, sphere_centre: Vectors) -> Vectors:
        """On which side ``point`` lies, +1 or -1 (...); not-a-number in the toggle itself, which has no side."""
        triple = dot(cross(self.axis, sphere_centre - self.centre), point - self.centre)
        return np.where(triple == 0.0, np.nan, np.sign(triple))

    def meets(self, sphere_centre: Vectors, sphere_radius: Vectors, side: Vectors) -> Vectors:
        """Point (..., 3) of the circle at ``sphere_radius`` from ``sphere_centre``, mm, on the ``side`` asked for.

        Not-a-number where circle and sphere do not meet, and where the sphere's centre lies on the axis. Source:
        cosine rule in the plane of the circle, which cuts the sphere in another circle.

        >>> of_arm = Circle(np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array(5.0))
        >>> of_arm.meets(np.array([0.0, 6.0, 0.0]), np.array(5.0), np.array(1.0)).tolist()
        [0.0, 3.0, 4.0]
        >>> of_arm.meets(np.array([0.0, 11.0, 0.0]), np.array(5.0), np.array(1.0)).tolist()
        [nan, nan, nan]
        """
        towards = sphere_centre - self.centre
        off_plane = dot(towards, self.axis)
        across = towards - off_plane[..., None] * self.axis
        distance = length(across)
        first = across / distance[..., None]
        reach_squared = (sphere_radius - off_plane) * (sphere_radius + off_plane)
        along = (self.radius**2 + distance**2 - reach_squared) / (2.0 * distance)
        aside = side * root_or_nan((self.radius - along) * (self.radius + along))
        return np.asarray(self.centre + along[..., None] * first + aside[..., None] * cross(self.axis, first))


def circle_through(point: Vectors, on_axis: Vectors, axis: Vectors) -> Circle:
    """The circle on which ``point`` turns about the line through ``on_axis`` along the unit vector ``axis``.

    >>> circle_through(np.array([2.0, 3.0, 4.0]), np.zeros(3), np.array([1.0, 0.0, 0.0])).radius.item()
    5.0
    """
    centre = on_axis + dot(point - on_axis, axis)[..., None] * axis
    return Circle(centre, axis, length(point - centre))
