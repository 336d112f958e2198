"""Semi-elliptic leaf spring: rate and bending stress of a pack of equally thick leaves, clamped at mid-span.

Letters: ``b`` width, ``t`` thickness and ``L`` half-span of the pack (eye to centre bolt, flat), ``n_f`` extra
full-length leaves, ``n_g`` graduated ones, ``E`` Young's modulus, ``W`` load over both eyes. The main leaf counts among
the graduated ones, as Bhandari has it (from memory); other books count it among the full-length ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def _stiffness_shares(full_length_leaves: ArrayLike, graduated_leaves: ArrayLike) -> NDArray[np.float64]:
    """3 n_f + 2 n_g: under one deflection a full-length leaf bears 3 for the 2 of a graduated one."""
    full, graduated = np.asarray(full_length_leaves, np.float64), np.asarray(graduated_leaves, np.float64)
    return np.asarray(3.0 * full + 2.0 * graduated)


def leaf_rate_n_per_mm(  # noqa: PLR0913, PLR0917 - the six measures of a pack
    width_mm: ArrayLike,
    thickness_mm: ArrayLike,
    half_span_mm: ArrayLike,
    full_length_leaves: ArrayLike,
    graduated_leaves: ArrayLike,
    youngs_modulus_mpa: ArrayLike,
) -> NDArray[np.float64]:
    """Load over both eyes per deflection, E b t^3 (3 n_f + 2 n_g) / (6 L^3), N/mm.

    ``width_mm`` b, ``thickness_mm`` t, ``half_span_mm`` L, ``full_length_leaves`` n_f and ``graduated_leaves`` n_g (not
    both 0), ``youngs_modulus_mpa`` E. Shapes: any that broadcast. All positive, but for one of the counts.

    Valid for small deflection of leaves that slide without friction; the shackle's angle and the length that U-bolts
    clamp are left out. Friction makes a real pack look stiffer as it is loaded and softer as it is let off.

    Source: Bhandari, Design of Machine Elements, 10.25, from a worked companion; the book itself was not read.

    >>> round(float(leaf_rate_n_per_mm(60.0, 12.0, 600.0, 2.0, 10.0, 207_000.0)), 2)
    430.56
    """
    section = np.asarray(width_mm, np.float64) * np.asarray(thickness_mm, np.float64) ** 3
    shares = _stiffness_shares(full_length_leaves, graduated_leaves)
    bending = np.asarray(youngs_modulus_mpa, np.float64) * section * shares
    return np.asarray(bending / (6.0 * np.asarray(half_span_mm, np.float64) ** 3))


def leaf_stress_mpa(  # noqa: PLR0913, PLR0917 - the load and the five measures of a pack
    load_n: ArrayLike,
    width_mm: ArrayLike,
    thickness_mm: ArrayLike,
    half_span_mm: ArrayLike,
    full_length_leaves: ArrayLike,
    graduated_leaves: ArrayLike,
) -> NDArray[np.float64]:
    """Greatest bending stress, at the centre bolt, of a pack that was put together without nip, MPa.

    9 W L / (b t^2 (3 n_f + 2 n_g)) in the full-length leaves, two thirds of it in the graduated ones, which count where
    there are no others. ``load_n`` W, ``width_mm`` b, ``thickness_mm`` t, ``half_span_mm`` L, ``full_length_leaves``
    n_f and ``graduated_leaves`` n_g (not both 0). Shapes: any that broadcast. All positive, but for one of the counts.

    Valid as ``leaf_rate_n_per_mm``. A pack nipped so that all leaves end up equally stressed has 3 W L / (b t^2 (n_f +
    n_g)), which is never more: what this returns is on the safe side of it.

    Source: textbooks: without nip from memory; without full-length leaves Sarkar, Strength of Materials, 8.10, from a
    worked companion; the book itself was not read.

    >>> float(leaf_stress_mpa(6_250.0, 60.0, 10.0, 400.0, 0.0, 5.0))
    250.0
    """
    full = np.asarray(full_length_leaves, np.float64)
    moment = np.asarray(load_n, np.float64) * np.asarray(half_span_mm, np.float64)
    section = np.asarray(width_mm, np.float64) * np.asarray(thickness_mm, np.float64) ** 2
    graduated = 6.0 * moment / (section * _stiffness_shares(full, graduated_leaves))
    return np.asarray(np.where(full > 0.0, 1.5, 1.0) * graduated)
