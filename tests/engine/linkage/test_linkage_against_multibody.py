"""Positions and angles over the whole travel against an independent multibody library, on random geometries."""

from dataclasses import replace

import multibody
import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, row_of, scattered

from service.engine.linkage import (
    ball_joint_angle_deg,
    camber_deg,
    solve_macpherson,
    solve_wishbone,
    steer_angle_deg,
    strut_length_mm,
)

ROWS = 24
TOLERANCE_MM, TOLERANCE_DEG = 0.001, 0.001
OUTWARDS = np.argsort(np.abs(TRAVEL_RAD), kind="stable")
"""From the design position outwards, as the multibody model follows its branch; it crosses over each time."""


def turned_by_deg(one, other):
    """Angle of the rotation between two rotation matrices."""
    between = one.T @ other
    spin = np.array([between[2, 1] - between[1, 2], between[0, 2] - between[2, 0], between[1, 0] - between[0, 1]])
    return np.degrees(np.arctan2(np.linalg.norm(spin), np.trace(between) - 1.0))


def stands_like(pose, model, row, position):
    """The largest differences of what both layouts have, mm and deg."""
    here = row, position
    names = "lower_ball_joint", "tie_rod_end", "wheel_centre"
    apart_mm = [np.abs(getattr(pose, name)[here] - model.point_mm(name)).max() for name in names]
    bodies = "lower_arm", "upright"
    apart_deg = [turned_by_deg(pose.body(name).rotation[here], model.rotation(name)) for name in bodies]
    return max(apart_mm), max(apart_deg)


def wheel_angles_deg(model, spin_axis):
    """Camber and steer angle of a left wheel, of the multibody model."""
    x, y, z = model.rotation("upright") @ spin_axis / np.linalg.norm(spin_axis)
    return -np.degrees(np.arcsin(z)), -np.degrees(np.arctan(x / y))


def articulation_deg(model, neutral, pin_axis, arm):
    """Angle between pin and socket of the multibody model; ``neutral`` holds its rotations where they are in line."""
    pin = model.rotation("upright") @ pin_axis
    socket = model.rotation(arm) @ neutral[arm].T @ neutral["upright"] @ pin_axis
    return np.degrees(np.arctan2(np.linalg.norm(np.cross(pin, socket)), pin @ socket))


@pytest.mark.parametrize("strut_bottom_on", ["lower_arm", "upper_arm", "upright"])
def test_wishbone(strut_bottom_on):
    points = replace(scattered(WISHBONE, ROWS, seed=4), strut_bottom_on=strut_bottom_on)
    pose = solve_wishbone(points, TRAVEL_RAD)
    camber, steer, strut_mm = camber_deg(pose), steer_angle_deg(pose), strut_length_mm(points, pose)
    assert pose.reachable.all()
    for row in range(ROWS):
        own = row_of(points, row)
        model = multibody.wishbone(own)
        for position in OUTWARDS:
            model.drive(TRAVEL_RAD[position])
            here = row, position
            apart_mm, apart_deg = stands_like(pose, model, row, position)
            assert apart_mm < TOLERANCE_MM
            assert apart_deg < TOLERANCE_DEG
            assert np.abs(pose.upper_ball_joint[here] - model.point_mm("upper_ball_joint")).max() < TOLERANCE_MM
            upper_arm_rad = pose.upper_arm_angle_rad[here]
            assert abs(np.degrees(upper_arm_rad - model.joint_rad("upper_arm"))) < TOLERANCE_DEG
            assert turned_by_deg(pose.upper_arm.rotation[here], model.rotation("upper_arm")) < TOLERANCE_DEG
            span_mm = np.linalg.norm(model.point_mm("strut_bottom") - own.strut_top)
            assert strut_mm[here] == pytest.approx(span_mm, abs=TOLERANCE_MM)
            angles = wheel_angles_deg(model, own.spin_axis)
            assert (camber[here], steer[here]) == pytest.approx(angles, abs=TOLERANCE_DEG)


def test_macpherson():
    points = scattered(MACPHERSON, ROWS, seed=5)
    pose = solve_macpherson(points, TRAVEL_RAD)
    camber, steer, strut_mm = camber_deg(pose), steer_angle_deg(pose), strut_length_mm(points, pose)
    assert pose.reachable.all()
    for row in range(ROWS):
        own = row_of(points, row)
        model = multibody.macpherson(own)
        for position in OUTWARDS:
            model.drive(TRAVEL_RAD[position])
            here = row, position
            apart_mm, apart_deg = stands_like(pose, model, row, position)
            assert apart_mm < TOLERANCE_MM
            assert apart_deg < TOLERANCE_DEG
            span_mm = np.linalg.norm(model.point_mm("strut_bottom") - own.strut_top)
            assert strut_mm[here] == pytest.approx(span_mm, abs=TOLERANCE_MM)
            angles = wheel_angles_deg(model, own.spin_axis)
            assert (camber[here], steer[here]) == pytest.approx(angles, abs=TOLERANCE_DEG)


def test_another_upper_arm_on_the_surveyed_upright():
    surveyed = scattered(WISHBONE, ROWS, seed=7)
    points = replace(surveyed, replaced_upper_ball_joint=surveyed.upper_ball_joint + np.array([-4.0, -9.0, 14.0]))
    pose = solve_wishbone(points, TRAVEL_RAD)
    assert pose.reachable.all()
    for row in range(ROWS):
        model = multibody.wishbone(row_of(points, row))
        for position in OUTWARDS:
            model.drive(TRAVEL_RAD[position])
            apart_mm, apart_deg = stands_like(pose, model, row, position)
            assert apart_mm < TOLERANCE_MM
            assert apart_deg < TOLERANCE_DEG
            assert turned_by_deg(pose.upper_arm.rotation[row, position], model.rotation("upper_arm")) < TOLERANCE_DEG


def test_a_spacer_on_top_of_a_macpherson_strut_moves_its_pivot():
    surveyed = scattered(MACPHERSON, ROWS, seed=8)
    points = replace(surveyed, pivot_shift=np.tile([0.0, 0.0, -30.0], (ROWS, 1)))
    pose, without = solve_macpherson(points, TRAVEL_RAD), solve_macpherson(surveyed, TRAVEL_RAD)
    assert pose.reachable.all()
    for row in range(ROWS):
        model = multibody.macpherson(row_of(points, row))
        for position in OUTWARDS:
            model.drive(TRAVEL_RAD[position])
            apart_mm, apart_deg = stands_like(pose, model, row, position)
            assert apart_mm < TOLERANCE_MM
            assert apart_deg < TOLERANCE_DEG
    # At the same angle of the arm there is about the spacer's thickness less room for the strut.
    less_mm = strut_length_mm(surveyed, without) - strut_length_mm(points, pose)
    assert less_mm == pytest.approx(30.0 * np.ones_like(less_mm), abs=2.0)


@pytest.mark.parametrize("arm", ["lower_arm", "upper_arm"])
def test_articulation_of_the_ball_joints(arm):
    neutral_rad = 0.07
    points = scattered(WISHBONE, ROWS, seed=6)
    pin_axis = points.upper_ball_joint - points.lower_ball_joint
    pose, neutral = solve_wishbone(points, TRAVEL_RAD), solve_wishbone(points, [neutral_rad])
    angle_deg = ball_joint_angle_deg(pose, neutral, pin_axis, arm)
    for row in range(ROWS):
        model = multibody.wishbone(row_of(points, row))
        model.drive(neutral_rad)
        at_neutral = {name: model.rotation(name).copy() for name in (arm, "upright")}
        for position in range(0, len(TRAVEL_RAD), 5):
            model.drive(TRAVEL_RAD[position])
            told = articulation_deg(model, at_neutral, pin_axis[row], arm)
            assert angle_deg[row, position] == pytest.approx(told, abs=TOLERANCE_DEG)
