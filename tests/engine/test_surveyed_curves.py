"""The compiled curves of surveyed axles against the linkage itself, and their slopes against central differences."""

import numpy as np
import pytest
from reference_axles import TapedAxle, part_of
from survey_by_hand import Direct, of_axle
from surveyed_axles import SURVEYED, WISHBONE, at, with_envelope, with_fitted, with_points

from service.engine.parts import Strut

CLOSE_MM = CLOSE_DEG = 1e-4
BEYOND_MM = 15.0
"""The curves are looked at this far past full droop and full bump, too."""
POSITIONS = 50


def compiled(axle: TapedAxle):
    return axle.build().axle


def positions(axle: TapedAxle, by_hand: Direct):
    """Arm angles (1, 50) from beyond full droop to beyond full bump, none of them a knot of the curves."""
    placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in axle.record()["positions"]}
    ends = (placed["full_droop"] + BEYOND_MM, placed["full_bump"] - BEYOND_MM)
    angles = [float(by_hand.angle_where(by_hand.height, np.array([[end]]))[0, 0]) for end in ends]
    return np.linspace(*angles, POSITIONS)[None]


AXLES = {
    **SURVEYED,
    "strut on the upright": with_points(WISHBONE, strut_bottom_on="upright"),
    "strut on the upper arm": with_fitted(
        with_points(WISHBONE, strut_bottom=at(-5, 590, 212), strut_top=at(-12, 520, 640), strut_bottom_on="upper_arm"),
        strut=part_of(Strut, extended_length_mm=492, closed_length_mm=308, seat_offset_mm=142),
    ),
    "stop on the body": with_envelope(
        with_points(WISHBONE, bump_stop=at(0, 566, 6), bump_plate=at(2, 570, -46)), bump_stop_on="body"
    ),
}


@pytest.fixture(params=AXLES)
def axle(request):
    return AXLES[request.param]


def read(curve, height):
    return curve.at(height, np.zeros(height.shape[-1], dtype=np.intp))


def exact(axle: TapedAxle, by_hand: Direct, angles) -> dict[str, np.ndarray]:
    """Everything that follows the wheel, from the linkage itself."""
    pose = by_hand.pose(angles)
    rack = axle.envelope.travel.hard_points.rack_travel_mm.value
    follows = {
        "camber": by_hand.camber(pose), "toe": by_hand.toe(pose), "plunge": by_hand.plunge(pose),
        "inner_cv": by_hand.inner_cv(pose), "outer_cv": by_hand.outer_cv(pose),
        "outer_cv_left_lock": by_hand.outer_cv(by_hand.pose(angles, np.array([[rack]]))),
        "outer_cv_right_lock": by_hand.outer_cv(by_hand.pose(angles, np.array([[-rack]]))),
    }  # fmt: skip
    joints = (
        "lower_ball_joint",
        "tie_rod_end",
        *(["upper_ball_joint"] if axle.envelope.layout != "macpherson" else []),
    )
    follows |= {joint: by_hand.ball_joint(joint, pose) for joint in joints}
    return follows | ({"hose_span": by_hand.hose(pose)} if "hose_body" in by_hand.at else {})


def test_strut_length_and_room_to_the_stop(axle):
    by_hand, travel = of_axle(axle), compiled(axle).travel
    pose = by_hand.pose(positions(axle, by_hand))
    height = by_hand.height(pose)
    assert read(travel.damper, height).span_mm == pytest.approx(by_hand.strut(pose), abs=CLOSE_MM)
    if travel.surveyed.stop_gap is not None:
        assert read(travel.surveyed.stop_gap, height).span_mm == pytest.approx(by_hand.room(pose), abs=CLOSE_MM)
    else:
        assert axle.envelope.layout == "macpherson"


BENDS = {"camber": -90.0, "toe": -90.0, "hose_span": 0.0, "plunge": -90.0}
"""Nothing bends in these. The others are magnitudes, which turn sharply where what they measure passes through zero."""
SMALL = 5.0


@pytest.mark.parametrize("near_zero", [False, True], ids=["", "where a joint is nearly straight"])
def test_what_follows_the_wheel(axle, near_zero):
    by_hand = of_axle(axle)
    angles = positions(axle, by_hand)
    height = by_hand.height(by_hand.pose(angles))
    told = read(compiled(axle).travel.surveyed, height)
    wanted = exact(axle, by_hand, angles)
    assert told.keys() == wanted.keys()
    for name, values in wanted.items():
        looked_at = (values > BENDS.get(name, SMALL)) != near_zero
        # The curves hold the square of an angle: near zero its root is as good as its square allows.
        close = 5e-3 if near_zero else CLOSE_DEG
        assert told[name][looked_at] == pytest.approx(values[looked_at], abs=close), name


def test_motion_ratio_and_its_change_are_those_of_the_linkage(axle):
    """Central differences over the arm's angle. The ratio is good to 3e-6; its change, a second derivative read off a
    cubic, to 1e-5 per mm: over the 80 mm from ride to bump that makes 0.0008 of a ratio.
    """
    by_hand, travel = of_axle(axle), compiled(axle).travel
    angles, step = positions(axle, by_hand), 1e-4

    def height_and_strut(shift: float):
        pose = by_hand.pose(angles + shift)
        return by_hand.height(pose), by_hand.strut(pose)

    def ratio(shift: float):
        (h1, s1), (h2, s2) = height_and_strut(shift - step), height_and_strut(shift + step)
        return (s2 - s1) / (h2 - h1)

    height = height_and_strut(0.0)[0]
    change = (ratio(step) - ratio(-step)) / (height_and_strut(step)[0] - height_and_strut(-step)[0])
    told = read(travel.damper, height)
    assert told.motion_ratio == pytest.approx(ratio(0.0), abs=3e-6)
    assert told.ratio_change_per_mm == pytest.approx(change, abs=1e-5)


def placed(record) -> dict[str, float]:
    return {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"]}


def test_positions_are_where_the_linkage_has_the_struts_and_the_stops_lengths(axle):
    by_hand = of_axle(axle)
    fitted = axle.envelope.fitted
    crush = fitted.bump_stop.free_height_mm.value - fitted.bump_stop.crushed_height_mm.value
    ends = {
        "full_droop": (by_hand.strut, fitted.strut.extended_length_mm.value),
        "bump_contact": (by_hand.room, 0.0),
        "full_bump": (by_hand.room, -crush),
        "ride": (by_hand.strut, float(by_hand.strut(by_hand.pose(np.zeros(1)))[0, 0])),
    }
    found = placed(axle.record())
    for name, (quantity, wanted) in ends.items():
        angle = by_hand.angle_where(quantity, np.array([[wanted]]))
        assert found[name] == pytest.approx(float(by_hand.height(by_hand.pose(angle))[0, 0]), abs=2 * CLOSE_MM), name
