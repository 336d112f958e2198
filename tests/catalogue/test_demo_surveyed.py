"""The demo's surveyed axles: could these hard points be those of a vehicle?

Every tolerance below is common practice: none of them has a published source.
"""

from functools import cache
from math import dist, pi, sqrt

import numpy as np
import pytest
from demo_catalogue import ENVELOPES, PARTS, engine_axle, fitted, limit, solid, sprung_kg, value

from service.engine import evaluate
from service.engine.assembling import assemble
from service.engine.loads import STANDARD_GRAVITY
from service.engine.springs import corrected_shear_stress_mpa

SURVEYED = {axle: e for axle, e in ENVELOPES.items() if "hard_points" in e["travel"]}
RATIOS = {"wishbone_coilover": (0.5, 0.7), "macpherson": (0.88, 1.02)}
CAMBER_CHANGE_DEG = {"wishbone_coilover": 5.0, "macpherson": 3.5}
BALL_JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end")
STEPS = 41

each_surveyed_axle = pytest.mark.parametrize("axle", SURVEYED)


def point(axle, name):
    return [value(coordinate) for coordinate in ENVELOPES[axle]["travel"]["hard_points"][name]]


def compiled(axle):
    return engine_axle(axle).under("unsealed_touring")


@cache
def factory(axle):
    """The positions of the axle as it left the factory, plain numbers by position and quantity."""
    positions = evaluate([assemble(engine_axle(axle))]).record(0)["positions"]
    return {
        p["at"]: {name: q["value"] for name, q in p.items() if isinstance(q, dict) and "value" in q} for p in positions
    }


@cache
def over_travel(axle):
    """Everything that follows the wheel from the factory's full droop to its full bump, at ``STEPS`` even heights."""
    travel, at = compiled(axle).travel, factory(axle)
    height = np.linspace(at["full_droop"]["arch_to_hub_mm"], at["full_bump"]["arch_to_hub_mm"], STEPS)
    column = np.zeros(1, dtype=np.intp)
    curves = {name: values.ravel() for name, values in travel.surveyed.at(height[:, None], column).items()}
    return {"motion_ratio": travel.damper.at(height[:, None], column).motion_ratio.ravel(), **curves}


@each_surveyed_axle
def test_the_survey_was_made_at_ride(axle):
    by_points = point(axle, "arch_mark")[2] - point(axle, "wheel_centre")[2]
    assert factory(axle)["ride"]["arch_to_hub_mm"] == pytest.approx(by_points, abs=0.01)


@each_surveyed_axle
def test_the_wheel_has_a_usual_travel(axle):
    droop, ride, contact, bump = (
        factory(axle)[at]["arch_to_hub_mm"] for at in ("full_droop", "ride", "bump_contact", "full_bump")
    )
    assert 55 <= ride - contact <= 90
    assert 90 <= ride - bump <= 130
    assert 70 <= droop - ride <= 110


@each_surveyed_axle
def test_the_motion_ratio_is_its_layouts_over_the_whole_travel(axle):
    least, most = RATIOS[ENVELOPES[axle]["layout"]]
    ratio = over_travel(axle)["motion_ratio"]
    assert least <= ratio.min()
    assert ratio.max() <= most


@each_surveyed_axle
def test_camber_and_toe_change_little(axle):
    curves, most = over_travel(axle), CAMBER_CHANGE_DEG[ENVELOPES[axle]["layout"]]
    assert np.abs(curves["camber"]).max() <= most
    assert np.ptp(curves["toe"]) <= 1.0


def test_a_double_wishbone_leans_its_wheel_in_as_it_rises():
    (axle,) = (name for name, e in SURVEYED.items() if e["layout"] == "wishbone_coilover")
    assert (np.diff(over_travel(axle)["camber"]) < 0.01).all()


@each_surveyed_axle
def test_joints_stay_within_their_limits_over_the_factory_travel(axle):
    curves, limits = over_travel(axle), ENVELOPES[axle]["limits"]
    by_angle = {joint for joint, stated in limits.items() if "max_angle_deg" in stated}
    assert by_angle >= {"lower_ball_joint", "inner_cv", "outer_cv"}
    for joint in by_angle:
        assert np.abs(curves[joint]).max() + 2.5 <= limit(axle, joint, "max_angle_deg"), joint
    assert np.abs(curves["plunge"]).max() + 5.0 <= limit(axle, "inner_cv", "max_plunge_mm")


@each_surveyed_axle
def test_joints_bend_by_what_a_vehicles_joints_do(axle):
    curves = over_travel(axle)
    assert all(10 <= np.abs(curves[joint]).max() <= 25 for joint in BALL_JOINTS if joint in curves)
    assert 8 <= curves["inner_cv"].max() <= 18
    for side in ("left", "right"):
        assert 25 <= curves[f"outer_cv_{side}_lock"].max() + 2.5 <= limit(axle, "outer_cv", "max_angle_deg")


@each_surveyed_axle
def test_links_are_as_long_as_a_vehicles_links(axle):
    assert 350 <= dist(point(axle, "inner_cv"), point(axle, "outer_cv")) <= 550
    assert 280 <= dist(point(axle, "rack_end"), point(axle, "tie_rod_end")) <= 400
    assert 300 <= dist(point(axle, "lower_arm_front"), point(axle, "lower_ball_joint")) <= 450


@each_surveyed_axle
def test_strut_and_stop_end_the_travel_long_before_the_linkage_locks(axle):
    in_bump, in_droop = (lock[0] for lock in compiled(axle).travel.surveyed.locks_mm)
    assert factory(axle)["full_droop"]["damper_length_mm"] == pytest.approx(fitted(axle, "strut", "extended_length_mm"))
    assert in_droop > factory(axle)["full_droop"]["arch_to_hub_mm"] + 50
    assert in_bump < factory(axle)["full_bump"]["arch_to_hub_mm"] - 50


@each_surveyed_axle
def test_a_brake_hose_reaches_a_little_beyond_the_factory_droop(axle):
    beyond = limit(axle, "brake_hose", "reached_at_arch_to_hub_mm") - factory(axle)["full_droop"]["arch_to_hub_mm"]
    assert 25 <= beyond <= 60


@each_surveyed_axle
def test_the_factory_spring_carries_the_kerb_load(axle):
    pressed = fitted(axle, "spring", "free_length_mm") - seat_gap(axle, "ride")
    at_wheel = fitted(axle, "spring", "rate_n_per_mm") * pressed * factory(axle)["ride"]["motion_ratio"]
    assert at_wheel == pytest.approx(sprung_kg(axle) * STANDARD_GRAVITY, rel=0.03)


@each_surveyed_axle
def test_the_wheel_rate_gives_a_usual_ride_frequency(axle):
    wheel_rate = fitted(axle, "spring", "rate_n_per_mm") * factory(axle)["ride"]["motion_ratio"] ** 2
    assert 1.1 <= sqrt(1000 * wheel_rate / sprung_kg(axle)) / (2 * pi) <= 1.8


@each_surveyed_axle
def test_spring_and_damper_have_room_at_both_ends(axle):
    spring = ENVELOPES[axle]["fitted"]["spring"]
    assert value(spring["free_length_mm"]) > seat_gap(axle, "full_droop") + 5
    assert seat_gap(axle, "full_bump") >= solid(spring) + 8
    closed = fitted(axle, "strut", "closed_length_mm")
    assert factory(axle)["full_bump"]["damper_length_mm"] >= closed + 10


@each_surveyed_axle
def test_the_factory_springs_steel_bears_full_bump(axle):
    spring = ENVELOPES[axle]["fitted"]["spring"]
    force = value(spring["rate_n_per_mm"]) * (value(spring["free_length_mm"]) - seat_gap(axle, "full_bump"))
    stress = corrected_shear_stress_mpa(force, value(spring["wire_mm"]), value(spring["mean_diameter_mm"]))
    # 0.56 Rm: cold-coiled springs of EN 13906-1, known from memory.
    assert stress < 0.56 * value(spring["tensile_strength_mpa"])


def seat_gap(axle, at):
    """The strut's length at a position, by the linkage, less its seat offset."""
    return factory(axle)[at]["damper_length_mm"] - fitted(axle, "strut", "seat_offset_mm")


def test_a_replaced_upper_arm_holds_its_joint_near_the_factorys():
    arms = [part for part in PARTS if "ball_joint_mm" in part]
    assert arms
    for arm in arms:
        (axle,) = arm["fits"]
        held = [value(coordinate) for coordinate in arm["ball_joint_mm"]]
        assert 2 <= dist(held, point(axle, "upper_ball_joint")) <= 15
