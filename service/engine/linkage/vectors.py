"""Arrays of vectors (..., 3) and what is done with them; every function broadcasts over the leading axes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Vectors = NDArray[np.float64]
Mask = NDArray[np.bool_]


def dot(u: Vectors, v: Vectors) -> Vectors:
    """Scalar product (...)."""
    return np.asarray(np.vecdot(u, v))


def cross(u: Vectors, v: Vectors) -> Vectors:
    """Vector product (..., 3)."""
    product = np.empty(np.broadcast_shapes(u.shape, v.shape))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        product[..., i] = u[..., j] * v[..., k] - u[..., k] * v[..., j]
    return product


def length(v: Vectors) -> Vectors:
    """Euclidean length (...), in the unit of ``v``."""
    return np.asarray(np.sqrt(np.vecdot(v, v)))


def unit(v: Vectors) -> Vectors:
    """Direction of ``v``: a unit vector; not-a-number for a vector of no length, or of one past all numbers."""
    size = length(v)
    return np.asarray(v / np.where(size < np.inf, size, np.nan)[..., None])


def angle_deg(u: Vectors, v: Vectors) -> Vectors:
    """Angle (...) between two directions, 0 to 180 deg; they need not be unit vectors.

    atan2(|u x v|, u . v): the inverse cosine loses half of the digits near zero.

    >>> angle_deg(np.array([0.0, 2.0, 0.0]), np.array([[0.0, 3.0, 0.0], [0.0, 1.0, 1.0]])).round(12).tolist()
    [0.0, 45.0]
    """
    return np.asarray(np.degrees(np.arctan2(length(cross(u, v)), dot(u, v))))


def root_or_nan(square: Vectors) -> Vectors:
    """Square root, and not-a-number, without a warning, where there is none."""
    return np.asarray(np.sqrt(np.where(square >= 0.0, square, np.nan)))
