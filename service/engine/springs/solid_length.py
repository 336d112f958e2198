"""How short a helical compression spring can get, and how much above that the standard wants left."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from service.engine.parts import Ends, Forming

SOLID_LENGTH_COILS: dict[tuple[Forming, Ends], float] = {
    ("cold", "closed_ground"): 0.0,  # EN 13906-1, from memory; the same in a handbook table that was read
    ("cold", "closed_unground"): 1.5,  # EN 13906-1, from memory; the handbook table has 1
    ("hot", "closed_ground"): -0.3,  # EN 13906-1:2013, 9.10, from a second-hand copy; primary text not read
    ("hot", "closed_unground"): 1.1,  # EN 13906-1 / DIN 2089-1, from memory
    ("cold", "open"): 1.0,  # handbook table of compression springs, row "plain", read on a page that cites it
    ("hot", "open"): 1.0,  # the same
}
"""Coils to add to the total ones before they are multiplied by the wire, by forming and ends."""


def solid_length_mm(
    wire_at_top_of_tolerance_mm: ArrayLike, total_coils: ArrayLike, ends: Ends, forming: Forming | None
) -> NDArray[np.float64]:
    """Length of a spring with all its coils touching, an upper bound as a coil-bind check needs it, mm.

    (nt + added) d_max, with ``wire_at_top_of_tolerance_mm`` d_max (any coating included), ``total_coils`` nt and the
    added coils of ``SOLID_LENGTH_COILS``. ``forming`` None means unknown: the longer of the two. Shapes: any that
    broadcast. Not for a pigtail or tangential end, which no row covers: measure those.

    Source: ``SOLID_LENGTH_COILS``, each row with its own.

    >>> round(float(solid_length_mm(14.0, 8.0, "closed_ground", "hot")), 9)
    107.8
    >>> float(solid_length_mm(14.0, 8.0, "closed_ground", None))
    112.0
    """
    ways: tuple[Forming, ...] = ("cold", "hot") if forming is None else (forming,)
    added = max(SOLID_LENGTH_COILS[way, ends] for way in ways)
    return np.asarray(
        (np.asarray(total_coils, np.float64) + added) * np.asarray(wire_at_top_of_tolerance_mm, np.float64)
    )


def common_practice_solid_length_mm(wire_mm: ArrayLike, total_coils: ArrayLike) -> NDArray[np.float64]:
    """Solid length as the trade reckons it, for ends that nobody has stated: wire times windings, mm.

    ``wire_mm`` d, ``total_coils`` nt. Shapes: any that broadcast. Short of the truth for ends that are not ground.

    Source: common practice, no published source.

    >>> float(common_practice_solid_length_mm(16.0, 10.5))
    168.0
    """
    return np.asarray(np.asarray(wire_mm, np.float64) * np.asarray(total_coils, np.float64))


def sum_of_minimum_gaps_mm(
    wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, active_coils: ArrayLike, forming: Forming | None, dynamic: bool
) -> NDArray[np.float64]:
    """Sum S_a of the gaps between the active coils that should be left at the shortest working length, mm.

    Cold coiled n (0.0015 D^2/d + 0.1 d), times 1.5 when ``dynamic``; hot coiled 0.02 n (D + d), times 2 when
    ``dynamic``. ``wire_mm`` d, ``mean_diameter_mm`` D, ``active_coils`` n, all positive. Shapes: any that broadcast.
    ``forming`` None means unknown: the larger of the two.

    Source: EN 13906-1; hot and static 9.9, from a second-hand copy; the rest from memory (cold also DIN 2095); primary
    text not read.

    >>> round(float(sum_of_minimum_gaps_mm(14.0, 120.0, 6.5, "hot", dynamic=False)), 9)
    17.42
    """
    wire, diameter = np.asarray(wire_mm, np.float64), np.asarray(mean_diameter_mm, np.float64)
    coils = np.asarray(active_coils, np.float64)
    cold = np.asarray((1.5 if dynamic else 1.0) * coils * (0.0015 * diameter**2 / wire + 0.1 * wire))
    hot = np.asarray((2.0 if dynamic else 1.0) * coils * 0.02 * (diameter + wire))
    if forming is None:
        return np.maximum(cold, hot)
    return {"cold": cold, "hot": hot}[forming]
