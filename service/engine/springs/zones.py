"""Progressive spring whose closer coils go solid first: zones in series, each rigid once its gap is used up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from service.engine.springs.coil import rate_n_per_mm

ONE_CORNER = 1e-6  # relative: closing forces nearer than this are one, for any use and beside rounding


def points_of_zones(
    wire_mm: float, mean_diameter_mm: float, shear_modulus_mpa: float, zones: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """Force over deflection of one closing-coil spring as points (deflection mm, force N) for ``table_of_points``.

    A zone of n coils has the rate k = G d^4 / (8 D^3 n); all zones carry the same force F, and a zone is rigid from
    F = k gap on. So there is a corner at each closing, the last being the spring pressed solid, and the rate rises from
    corner to corner. ``wire_mm`` d, ``mean_diameter_mm`` D, ``shear_modulus_mpa`` G, ``zones`` (active coils, gap mm)
    each, the gap being the sum of the free gaps between the coils of that zone; in any order. Returns the points from
    (0, 0) on; their last deflection is the sum of the gaps.

    Valid for one wire and one mean diameter throughout, ends free of friction, and gaps within a zone that close all at
    once. Nothing is said beyond the last point: there the coils touch.

    Raises ValueError when there is no zone, when a number is not finite and above 0, or when D is not above d.

    Source: elementary, springs in series; from memory as in Wahl, Mechanical Springs.

    >>> points_of_zones(10.0, 100.0, 80_000.0, [(2.0, 20.0), (4.0, 80.0)])
    ((0.0, 0.0), (60.0, 1000.0), (100.0, 2000.0))
    """
    _refuse_nonsense(wire_mm, mean_diameter_mm, shear_modulus_mpa, zones)
    springs = [
        (float(rate_n_per_mm(wire_mm, mean_diameter_mm, coils, shear_modulus_mpa)), float(gap)) for coils, gap in zones
    ]
    closing = [*sorted(rate * gap for rate, gap in springs), math.inf]
    corners = [force for force, following in pairwise(closing) if following > force * (1.0 + ONE_CORNER)]
    return ((0.0, 0.0), *((_deflection_mm(force, springs), force) for force in corners))


def _deflection_mm(force_n: float, springs: Sequence[tuple[float, float]]) -> float:
    """Deflection of zones in series, (rate, gap) each: exactly its gap for one that has closed, whatever the order."""
    return math.fsum(gap if rate * gap <= force_n else force_n / rate for rate, gap in springs)


def _refuse_nonsense(
    wire_mm: float, mean_diameter_mm: float, shear_modulus_mpa: float, zones: Sequence[tuple[float, float]]
) -> None:
    numbers = (wire_mm, mean_diameter_mm, shear_modulus_mpa, *(number for zone in zones for number in zone))
    if not zones:
        raise ValueError("a progressive spring needs at least one zone")
    if not all(math.isfinite(number) and number > 0.0 for number in numbers):
        raise ValueError("wire, mean diameter, shear modulus and each zone's coils and gap must be numbers above 0")
    if mean_diameter_mm <= wire_mm:
        raise ValueError("the mean diameter of a coil must be larger than its wire")
