"""Uncertainty as more rows: every quantity is computed once as read and once with each reading moved a little.

JCGM 100:2008, 5.1.2: u(y)^2 = sum_i (dy/dx_i u(x_i))^2. Column 0 of an array holds the quantity as read, column j the
same with reading j moved by ``step_of``; so what two quantities share moves both and cancels in their difference.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.engine.reading import RECTANGULAR

Array = NDArray[np.float64]

BLOCK_NUMBERS = 32_768
"""So many numbers are worked on at once: they stay in the processor's cache, and small batches are one block."""
STEP = 1e-6
"""Relative step of a moved reading: its error, of the order of the step, is far below any reading's meaning."""


def step_of(value: Array | float) -> Array:
    """How far a reading is moved, in its own unit; at least ``STEP``, so that a zero can move."""
    return STEP * np.maximum(1.0, np.abs(value))


def stacked(*quantities: Array) -> Array:
    """Quantities (..., K) of any shapes that broadcast, one below the other, (q, ..., K).

    >>> stacked(np.zeros((1, 2)), np.ones((2, 1))).tolist()
    [[[0.0, 0.0], [0.0, 0.0]], [[1.0, 1.0], [1.0, 1.0]]]
    """
    stack = np.empty((len(quantities), *np.broadcast(*quantities).shape))
    for place, quantity in zip(stack, quantities, strict=True):
        place[...] = quantity
    return stack


@dataclass(frozen=True, slots=True)
class Columns:
    """Named readings spread over columns.

    ``names[j]`` is the reading that column j + 1 moves; ``weights`` (len(names),) its standard uncertainty over the
    step; ``moved`` maps every reading's name to an array (1 + len(names),). The last columns may move many readings at
    once, along ``directions`` (r, len(together)) of the readings ``together`` (see ``condensed``).
    """

    names: tuple[str, ...]
    weights: Array
    moved: Mapping[str, Array]
    together: tuple[str, ...] = ()
    directions: Array = field(default_factory=lambda: np.zeros((0, 0)))

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


LOST = 1e-3
"""Share of a result's greatest variance that condensed columns may lose: half of it of its standard uncertainty."""
STRIDE = 1e-3
"""How far a condensed column moves its readings, in their standard uncertainties."""


def condensed(columns: Columns, results: Sequence[Array], names: Sequence[str]) -> Columns:
    """Columns that move the readings ``names`` along few directions in place of one by one.

    ``results`` (q, len(names)) each are what the readings contribute to the standard uncertainty of a result in q
    places. Many readings of a survey act on few results, so few directions, the right singular vectors of the
    contributions, carry all but ``LOST`` of each result's variance; a reading that acts on no result has no column.

    >>> both = spread({"a": (1.0, 3**0.5), "b": (2.0, 3**0.5), "c": (5.0, 0.0)})
    >>> condensed(both, [np.array([[3.0, 4.0]])], ["a", "b"]).directions.round(2).tolist()
    [[0.6, 0.8]]
    """
    known = [each[np.isfinite(each).all(axis=1)] for each in results]
    acting = [each / size for each in known if (size := _greatest(each)) > 0.0]
    scaled = np.concatenate([np.zeros((1, len(names))), *acting])
    _, _, directions = np.linalg.svd(scaled, full_matrices=False)
    lost = (scaled**2).sum(axis=1, keepdims=True) - np.cumsum((scaled @ directions.T) ** 2, axis=1)
    directions = directions[: int(np.argmax(np.append((lost <= LOST).all(axis=0)[:-1], True))) + 1]
    directions = directions if acting else directions[:0]
    directions = directions * np.where(directions.sum(axis=1, keepdims=True) < 0.0, -1.0, 1.0)
    others = [name for name in columns.names if name not in set(names)]
    place = {name: j for j, name in enumerate(columns.names)}
    count = 1 + len(others) + len(directions)
    moved = {name: np.full(count, column[0]) for name, column in columns.moved.items()}
    for j, name in enumerate(others):
        moved[name][j + 1] = columns.moved[name][place[name] + 1]
    for i, name in enumerate(names):
        step = columns.moved[name][place[name] + 1] - columns.moved[name][0]
        standard = columns.weights[place[name]] * step
        moved[name][1 + len(others) :] += STRIDE * standard * directions[:, i]
    weights = np.concatenate(
        [columns.weights[[place[name] for name in others]], np.full(len(directions), 1.0 / STRIDE)]
    )
    along = tuple(f"direction {k}" for k in range(len(directions)))
    return Columns((*others, *along), weights, moved, tuple(names), directions)


def _greatest(results: Array) -> float:
    return float(np.linalg.norm(results, axis=1).max(initial=0.0))


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
