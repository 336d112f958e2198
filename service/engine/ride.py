"""Where the wheel rides: the spring's and the gas force at the wheel against the sprung weight on it."""

from __future__ import annotations

import numpy as np

from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.travel import LAST_STEP_MM
from service.engine.wheel_force import weight_n, wheel_force

GRID = 33
"""Places between bump and droop where the balance is looked at first."""
ROUNDS = 60
BEYOND_MM = 150.0
"""How far outside of the travel the balance is looked for."""
FLATTEST_N_PER_MM = 1e-3
OVER_MM = 1e-3
"""How far past its bracket a moved reading may carry the balance."""


def balanced_height(rows: Rows, lowest: Array, highest: Array) -> Array:
    """Arch-to-hub at which F_spring dS/dh + F_gas dD/dh = sprung weight, mm, (n, K).

    ``lowest`` and ``highest`` (n, K) are the ends of the travel, bump and droop; not-a-number where unknown. The
    balance is looked for beyond them too, so that two of them can be compared: the caller ends the ride there. Minus
    infinity where the forces carry the weight nowhere, infinity where they are more than it everywhere.
    Looked for on a grid as read: where the forces fall below the weight as the wheel drops, of several such places the
    one nearest to the measured ride. Settled in every column by Newton's method, halved where that leaves its bracket.
    """
    knots = rows.axle.travel.damper.knots_mm
    low = np.where(np.isnan(lowest), knots[0], lowest) - BEYOND_MM
    high = np.where(np.isnan(highest), knots[-1], highest) + BEYOND_MM
    weight, measured = weight_n(rows), rows["ride_height"][:, :1]
    places = low[:, :1] + (high - low)[:, :1] * np.linspace(0.0, 1.0, GRID)
    surplus = wheel_force(rows, places, slice(0, 1), np.zeros(GRID, dtype=np.intp)).force_n - weight[:, :1]
    surplus, places = np.broadcast_arrays(surplus, places)
    near = np.where(np.isnan(measured), 0.5 * (low + high)[:, :1], measured)
    crosses = (surplus[:, :-1] > 0.0) & (surplus[:, 1:] <= 0.0)
    each, first = np.arange(len(surplus)), np.where(crosses, np.abs(places[:, :-1] - near), np.inf).argmin(axis=1)
    found, here, there = crosses[each, first], surplus[each, first], surplus[each, first + 1]
    within = np.where(found, here / np.where(found, here - there, 1.0), 0.5)[:, None]
    cell = places[:, 1:2] - places[:, :1]
    height = _settled(rows, places[each, first][:, None] + within * cell, cell, weight)
    return np.where(found[:, None], height, _nowhere(surplus)[:, None])


def _nowhere(surplus: Array) -> Array:
    """Where forces that are nowhere in balance would take the wheel (n,); not-a-number where that cannot be told."""
    least, most = (end.reduce(surplus, axis=1) for end in (np.fmin, np.fmax))
    return np.where(most <= 0.0, -np.inf, np.where(least > 0.0, np.inf, np.nan))


def _settled(rows: Rows, height: Array, cell: Array, weight: Array) -> Array:
    height = np.broadcast_to(height, np.broadcast_shapes(height.shape, weight.shape))
    low, high = height - cell, height + cell
    moving = np.ones(height.shape, dtype=bool)
    for _ in range(ROUNDS):
        now = wheel_force(rows, height, slice(None), rows.curve_column)
        surplus = now.force_n - weight
        low = np.where(surplus > 0.0, np.maximum(low, height), low)
        high = np.where(surplus < 0.0, np.minimum(high, height), high)
        step = surplus / np.maximum(now.falls_n_per_mm, FLATTEST_N_PER_MM)
        inside = (height + step > low - OVER_MM) & (height + step < high + OVER_MM)
        step = np.where(inside | np.isnan(surplus), step, 0.5 * (low + high) - height)
        height = np.where(moving, height + step, height)  # what is not known moves to not-a-number
        moving &= np.abs(step) > LAST_STEP_MM
        if not moving.any():
            break
    return height
