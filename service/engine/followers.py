"""What follows the wheel on a surveyed axle, read where somebody asks for it: angles at the ends of the travel, the
hose at full droop, camber and toe at every position.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.layouts import DRIVE_JOINTS, FRONT_END_JOINTS
from service.engine.places import FULL_BUMP, FULL_DROOP, NAMES
from service.engine.sensitivity import Array
from service.engine.stations import Surveyed

ENDS = (FULL_DROOP, FULL_BUMP)
ANGLES = (*FRONT_END_JOINTS, *DRIVE_JOINTS, "outer_cv_left_lock", "outer_cv_right_lock")
"""Angles of joints that the checks look at, at either end of the travel."""
STANCE = ("camber", "toe")


class Followed(NamedTuple):
    """The rows of what follows the wheel: ``names[i]`` at the position ``places[i]``.

    First ``angles`` angles; up to ``ends`` plunge, either way; up to ``stance`` the span of the hose, if that was
    surveyed; then camber and toe at the four positions. ``curve`` (q,) is the place of each among the curves.
    """

    names: tuple[str, ...]
    places: tuple[int, ...]
    curve: NDArray[np.intp]
    place: NDArray[np.intp]
    angles: int
    ends: int
    stance: int


@lru_cache(64)
def followed_of(curves: tuple[str, ...]) -> Followed:
    """What is asked of a survey that has these curves.

    >>> followed = followed_of(("camber", "toe", "outer_cv", "hose_span"))
    >>> followed.names[:3], followed.angles, followed.ends, followed.stance
    (('outer_cv', 'outer_cv', 'hose_span'), 2, 2, 3)
    """
    angles = [(name, place) for name in ANGLES if name in curves for place in ENDS]
    plunge = [("plunge", place) for place in ENDS if "plunge" in curves]
    hose = [("hose_span", FULL_DROOP)] if "hose_span" in curves else []
    stance = [(name, place) for name in STANCE for place in range(len(NAMES))]
    names, places = zip(*angles, *plunge, *hose, *stance, strict=True)
    curve, ends = np.array([curves.index(name) for name in names]), len(angles) + len(plunge)
    return Followed(names, places, curve, np.array(places), len(angles), ends, ends + len(hose))


def followers(surveyed: Surveyed, arch_to_hub_mm: Array, own: int) -> Array:
    """Angles and plunge, hose, camber and toe, (q, n, K) degrees and mm, in the order of ``followed_of``.

    ``arch_to_hub_mm`` (4, n, K); the first ``own`` columns are the curves' own, all others use the one as read.
    """
    asked = followed_of(surveyed.angles.names)
    told = surveyed.angles.each(asked.curve, asked.place, arch_to_hub_mm, own)
    squares, plunge = told[: asked.angles], told[asked.angles : asked.ends]
    np.sqrt(np.maximum(squares, 0.0, out=squares), out=squares)
    np.abs(plunge, out=plunge)
    return told
