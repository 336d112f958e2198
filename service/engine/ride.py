"""Where the wheel rides: the spring's and the gas force at the wheel against the sprung weight on it."""

from __future__ import annotations

import numpy as np

from service.engine.loads import STANDARD_GRAVITY
from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.springs import force_n, stiffness_n_per_mm

GRID = 33
"""Places between bump and droop where the balance is looked at first."""
ROUNDS = 25
SETTLED_MM = 1e-8
"""A step of Newton's method as small as this leaves an error of its square."""
BEYOND_STATIONS_MM = 150.0
"""How far outside of the stations the wheel is looked for where its stops are not known."""


def spring_force_n(rows: Rows, seat_gap_mm: Array) -> Array:
    """Force of the build's spring at a seat gap (n, K), N; none where it is longer than free."""
    return rows["force_scale"] * force_n(rows["free_length"] - seat_gap_mm, rows.force_table)


def balanced_height(rows: Rows, lowest: Array, highest: Array) -> Array:
    """Arch-to-hub at which (F_spring + F_gas) dS/dh = sprung weight, mm, (n, K).

    ``lowest`` and ``highest`` (n, K) are the ends of the travel, bump and droop; not-a-number where unknown. A spring
    too weak for its weight rests at ``lowest``, one that holds more than its weight at full droop stays at ``highest``.
    Found on a grid as read, then settled in every column by Newton's method.
    """
    knots = rows.axle.travel.curve.knots_mm
    low = np.where(np.isnan(lowest), knots[0] - BEYOND_STATIONS_MM, lowest)
    high = np.where(np.isnan(highest), knots[-1] + BEYOND_STATIONS_MM, highest)
    weight = rows["weight_n"] + 0.5 * rows["added_axle_kg"] * STANDARD_GRAVITY
    places = low[:, :1] + (high - low)[:, :1] * np.linspace(0.0, 1.0, GRID)
    surplus = _surplus_as_read(rows, places, weight)
    each = np.arange(len(surplus))
    first = np.minimum(np.maximum((surplus > 0.0).sum(axis=1) - 1, 0), GRID - 2)
    here, there = surplus[each, first], surplus[each, first + 1]
    crosses = (here > 0.0) & (there < 0.0)
    within = np.where(crosses, here / np.where(crosses, here - there, 1.0), 0.5)[:, None]
    cell = places[:, 1:2] - places[:, :1]
    height = _settled(rows, places[each, first][:, None] + within * cell, cell, weight)
    height = np.where(surplus[:, :1] <= 0.0, low, height)
    return np.where(surplus[:, -1:] >= 0.0, high, height)


def _surplus_as_read(rows: Rows, places: Array, weight: Array) -> Array:
    on = rows.axle.travel.curve.at(places, np.zeros(GRID, dtype=np.intp))
    gap = on.span_mm + rows.span_to_seat[:, :1]
    force = rows["force_scale"][:, :1] * force_n(rows["free_length"][:, :1] - gap, rows.force_table)
    return (force + rows["gas_force"][:, :1]) * on.motion_ratio - weight[:, :1]


def _settled(rows: Rows, height: Array, cell: Array, weight: Array) -> Array:
    free, scale, gas = rows["free_length"], rows["force_scale"], rows["gas_force"]
    height = np.broadcast_to(height, np.broadcast_shapes(height.shape, weight.shape))
    for _ in range(ROUNDS):
        on = rows.axle.travel.curve.at(height, rows.curve_column)
        deflection = free - on.span_mm - rows.span_to_seat
        force = scale * force_n(deflection, rows.force_table) + gas
        rate = scale * stiffness_n_per_mm(deflection, rows.force_table)
        falls = rate * on.motion_ratio**2 - force * on.ratio_change_per_mm
        step = (force * on.motion_ratio - weight) / np.maximum(falls, 1e-3)
        step = np.minimum(np.maximum(step, -cell), cell)
        height = height + step
        if not (np.abs(step) > SETTLED_MM).any():
            break
    return height
