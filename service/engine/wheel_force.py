"""The force of spring and gas at the wheel: springs act through their motion ratio, a torsion bar through its arm."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.loads import STANDARD_GRAVITY
from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.springs import (
    arm_angle_rad,
    force_n,
    stiffness_n_per_mm,
    torsional_stiffness_n_mm_per_rad,
)

Column = NDArray[np.intp]


class AtWheel(NamedTuple):
    """``force_n`` upwards on the body, and ``falls_n_per_mm``, by how much it falls as the wheel drops; (n, K)."""

    force_n: Array
    falls_n_per_mm: Array


def spring_force_n(rows: Rows, seat_gap_mm: Array) -> Array:
    """Force of the build's spring at seat gaps (..., n, K), N; none where it is longer than free."""
    return rows.force_scale * force_n(rows["free_length"] - seat_gap_mm, rows.force_table)


def wheel_force(rows: Rows, height: Array, columns: slice, column: Column) -> AtWheel:
    """Spring and gas at the wheel at ``height`` (n, k), computed with the given columns of the rows.

        F = F_spring dS/dh + F_gas dD/dh

    ``columns`` picks the k columns of the rows' quantities (one of them for a grid), ``column`` (k,) the curves'.
    """
    travel, gas = rows.axle.travel, rows["gas_force"][:, columns]
    on_damper = travel.damper.at(height, column)
    if rows.axle.axle.traits.spring == "torsion_bar":
        spring = _bar(rows, height, columns)
    else:
        on_seat = on_damper if travel.seat is travel.damper else travel.seat.at(height, column)
        deflection = rows["free_length"][:, columns] - on_seat.span_mm - rows.span_to_seat[:, columns]
        scale = rows.force_scale[:, columns]
        force = scale * force_n(deflection, rows.force_table)
        rate = scale * stiffness_n_per_mm(deflection, rows.force_table)
        ratio = on_seat.motion_ratio
        spring = AtWheel(force * ratio, rate * ratio**2 - force * on_seat.ratio_change_per_mm)
    return AtWheel(
        spring.force_n + gas * on_damper.motion_ratio,
        spring.falls_n_per_mm - gas * on_damper.ratio_change_per_mm,
    )


def weight_n(rows: Rows) -> Array:
    """Sprung weight on the wheel with the build's load, N."""
    return rows["weight_n"] + 0.5 * rows["added_axle_kg"] * STANDARD_GRAVITY


class BarAnchor(NamedTuple):
    """Where a torsion bar's twist is known: it carries the weight at a ride height. All (n, K)."""

    angle_rad: Array
    torque_n_mm: Array


def bar_anchor(rows: Rows) -> BarAnchor:
    """The adjuster sets the bar so that it carries kerb weight at the factory's ride, or the load where it was set."""
    set_to = rows["adjusted_ride"]
    height = np.where(np.isnan(set_to), rows["ride_height"], set_to)
    carried = np.where(np.isnan(set_to), rows["weight_n"], weight_n(rows))
    gas = rows["gas_force"] * rows.axle.travel.damper.at(height, rows.curve_column).motion_ratio
    angle = bar_arm_angle(rows, height, slice(None))
    return BarAnchor(angle, (carried - gas) * rows["arm_length"] * np.cos(angle))


def bar_arm_angle(rows: Rows, height: Array, columns: slice) -> Array:
    """By how much the arm hangs below the horizontal at a wheel position, rad."""
    at_ride = np.radians(rows["arm_angle"][:, columns])
    return arm_angle_rad(at_ride, height - rows["ride_height"][:, columns], rows["arm_length"][:, columns])


def bar_torque_n_mm(rows: Rows, height: Array, columns: slice) -> Array:
    """Torque in the bar at a wheel position, N mm."""
    anchor = bar_anchor(rows)
    stiffness = torsional_stiffness_n_mm_per_rad(rows["bar_diameter"], rows["bar_length"], rows["bar_modulus"])
    turned = anchor.angle_rad[:, columns] - bar_arm_angle(rows, height, columns)
    return anchor.torque_n_mm[:, columns] + stiffness[:, columns] * turned


def _bar(rows: Rows, height: Array, columns: slice) -> AtWheel:
    """F = T / (r cos d), with the torque T falling as the arm of length r hangs lower by its angle d."""
    angle, length = bar_arm_angle(rows, height, columns), rows["arm_length"][:, columns]
    stiffness = torsional_stiffness_n_mm_per_rad(rows["bar_diameter"], rows["bar_length"], rows["bar_modulus"])
    torque, lever = bar_torque_n_mm(rows, height, columns), length * np.cos(angle)
    falls = (stiffness[:, columns] - torque * np.tan(angle)) / lever**2
    return AtWheel(torque / lever, falls)
