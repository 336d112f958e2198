"""The line about which the wheel steers, from its lower ball joint to its upper one or to the strut's pivot.

``lower`` and ``upper`` (..., 3) mm, ``outward`` (...): +1 on the left side, -1 on the right (``wheel.outwards``).
Signs after ISO 8855:2011 (known second-hand), the same on both sides.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from service.engine.linkage.vectors import Vectors


class AtGround(NamedTuple):
    """Where the steering axis meets the ground, against the contact point of the tyre, mm (...).

    ``caster_offset_mm`` positive when the axis meets the ground ahead, ``scrub_radius_mm`` when it does so inboard.
    """

    caster_offset_mm: Vectors
    scrub_radius_mm: Vectors


def kingpin_inclination_deg(lower: Vectors, upper: Vectors, outward: Vectors) -> Vectors:
    """Angle (...) to the vertical seen from the front, positive when the upper end leans inwards.

    >>> ends = np.array([0.0, 737.0, -145.0]), np.array([0.0, 680.0, 162.0])
    >>> kingpin_inclination_deg(*ends, outward=np.array(1.0)).round(3).item()
    10.518
    """
    along = upper - lower
    return np.asarray(np.degrees(np.arctan2(-outward * along[..., 1], along[..., 2])))


def caster_deg(lower: Vectors, upper: Vectors) -> Vectors:
    """Angle (...) to the vertical seen from the side, positive when the upper end leans back."""
    along = upper - lower
    return np.asarray(np.degrees(np.arctan2(-along[..., 0], along[..., 2])))


def at_ground(lower: Vectors, upper: Vectors, contact_point: Vectors, outward: Vectors) -> AtGround:
    """Caster offset and scrub radius, on level ground through ``contact_point`` (..., 3) mm."""
    along = upper - lower
    share = (contact_point[..., 2:] - lower[..., 2:]) / along[..., 2:]
    ahead = lower + share * along - contact_point
    return AtGround(np.asarray(ahead[..., 0]), np.asarray(-outward * ahead[..., 1]))
