"""Uncertainty as more rows: every quantity is computed once as read and once with each reading moved a little.

JCGM 100:2008, 5.1.2: u(y)^2 = sum_i (dy/dx_i u(x_i))^2. Column 0 of an array holds the quantity as read, column j the
same with reading j moved by ``step_of``; so what two quantities share moves both and cancels in their difference.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.reading import RECTANGULAR

Array = NDArray[np.float64]

STEP = 1e-6
"""Relative step of a moved reading: its error, of the order of the step, is far below any reading's meaning."""


def step_of(value: Array | float) -> Array:
    """How far a reading is moved, in its own unit; at least ``STEP``, so that a zero can move."""
    return STEP * np.maximum(1.0, np.abs(value))


@dataclass(frozen=True, slots=True)
class Columns:
    """Named readings spread over columns.

    ``names[j]`` is the reading that column j + 1 moves; ``weights`` (len(names),) its standard uncertainty over the
    step; ``moved`` maps every reading's name to an array (1 + len(names),).
    """

    names: tuple[str, ...]
    weights: Array
    moved: Mapping[str, Array]

    @property
    def count(self) -> int:
        return 1 + len(self.names)


def spread(readings: Mapping[str, tuple[float, float]]) -> Columns:
    """Spread readings, name -> (value, half-width), over columns; a half-width of zero gets none.

    >>> spread({"a_mm": (100.0, 2.0), "b_mm": (5.0, 0.0)}).moved["a_mm"].round(4).tolist()
    [100.0, 100.0001]
    """
    names = tuple(name for name, (_, half_width) in readings.items() if half_width > 0.0)
    moved = {name: np.full(1 + len(names), value, dtype=np.float64) for name, (value, _) in readings.items()}
    weights = np.empty(len(names))
    for column, name in enumerate(names):
        value, half_width = readings[name]
        step = float(step_of(value))
        moved[name][column + 1] += step
        weights[column] = half_width * RECTANGULAR / step
    return Columns(names, weights, moved)


def contributions(quantities: Array, weights: Array) -> Array:
    """What each reading contributes to the standard uncertainty of quantities (..., 1 + k); (..., k), in place."""
    share = quantities[..., 1:]
    share -= quantities[..., :1]
    share *= weights
    return share


def combined_standard_uncertainty(quantities: Array, weights: Array) -> Array:
    """Standard uncertainty of quantities (q, n, 1 + k) over readings with ``weights`` (n, k) or (k,); result (q, n).

    ``quantities`` is overwritten: copying a large batch would cost more than the sum. Not-a-number (a quantity that is
    not known) stays not-a-number. First order only: it holds where the quantity is straight over the half-widths.
    Source: JCGM 100:2008, 5.1.2, equation (10).

    >>> two = spread({"a": (3.0, 3**0.5), "b": (4.0, 3**0.5)})
    >>> product = (two.moved["a"] * two.moved["b"])[None, None, :]
    >>> combined_standard_uncertainty(product, two.weights).round(4).tolist()
    [[5.0]]
    """
    share = contributions(quantities, weights)
    return np.asarray(np.sqrt(np.einsum("...k,...k->...", share, share)))
