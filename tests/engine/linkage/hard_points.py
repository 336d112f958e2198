"""Plausible hard points for the tests, of our own invention, and random ones about them. mm; left wheel."""

from dataclasses import fields, replace

import numpy as np

from service.engine.linkage import MacphersonPoints, WishbonePoints


def mm(*xyz):
    return np.array(xyz, np.float64)


WISHBONE = WishbonePoints(
    lower_arm_front=mm(170, 310, -60),
    lower_arm_rear=mm(-190, 310, -45),
    lower_ball_joint=mm(8, 690, -95),
    upper_arm_front=mm(110, 400, 215),
    upper_arm_rear=mm(-130, 405, 195),
    upper_ball_joint=mm(-20, 640, 240),
    rack_end=mm(-150, 330, -5),
    tie_rod_end=mm(-145, 655, -25),
    wheel_centre=mm(0, 765, 40),
    spin_axis=mm(0.004, 1, -0.009),
    strut_top=mm(-15, 470, 480),
    strut_bottom=mm(-5, 590, -60),
)
MACPHERSON = MacphersonPoints(
    lower_arm_front=mm(30, 340, -80),
    lower_arm_rear=mm(-290, 350, -70),
    lower_ball_joint=mm(5, 700, -105),
    rack_end=mm(-125, 320, -10),
    tie_rod_end=mm(-140, 680, -25),
    wheel_centre=mm(0, 755, 20),
    spin_axis=mm(0.003, 1, -0.008),
    strut_top=mm(-35, 570, 560),
    strut_bottom=mm(-8, 640, 90),
)
TRAVEL_RAD = np.radians(np.linspace(-16.0, 14.0, 21))
"""From full droop to full bump and somewhat more, about 200 mm of wheel; the design position is among them."""
TRAVEL_RAD[np.argmin(np.abs(TRAVEL_RAD))] = 0.0

DIRECTIONS = ("spin_axis",)


def vectors_of(points):
    """The points that are there, by name."""
    named = {field.name: getattr(points, field.name) for field in fields(points)}
    return {name: value for name, value in named.items() if isinstance(value, np.ndarray)}


def changed(points, change):
    """The same with ``change(name, value)`` instead of every vector."""
    return replace(points, **{name: change(name, value) for name, value in vectors_of(points).items()})


def scattered(points, rows, seed, half_width_mm=25.0):
    """``rows`` geometries about one: each coordinate moved at random; a spin axis by a hundredth."""
    random = np.random.default_rng(seed)

    def moved(name, value):
        return value + random.uniform(-1.0, 1.0, (rows, 3)) * (0.01 if name in DIRECTIONS else half_width_mm)

    return changed(points, moved)


def row_of(points, row):
    """One geometry of many."""
    return changed(points, lambda _, value: value[row])


def mirrored(points):
    """The other side of the vehicle."""
    return changed(points, lambda _, value: value * np.array([1.0, -1.0, 1.0]))


def translated(points, shift_mm):
    """The whole vehicle somewhere else."""
    return changed(points, lambda name, value: value if name in DIRECTIONS else value + shift_mm)
