"""Hard points that cannot be: refused with the points named and the likely mistake, in a fitter's words."""

from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest
from impossible import plain
from reference_axles import part_of
from survey_by_hand import points_of
from surveyed_axles import MACPHERSON, SURVEYED, WISHBONE, at, with_envelope, with_points

from service.engine import Reading, RefusedError, check_envelope
from service.engine.parts import LimitStrap, Strut, UpperArm

AT = "/travel/hard_points"
POINT = WISHBONE.envelope.travel.hard_points


def refused(axle) -> dict[str, str]:
    return {fault.pointer: fault.detail for fault in check_envelope(axle.envelope, axle.masses)}


def scaled(axle, factor: float):
    """Every point in another unit; directions have none."""
    points = {n: at(*(xyz[0] * factor)) for n, xyz in points_of(axle).items() if n not in ("spin_axis", "output_axis")}
    return with_points(axle, **points)


def mirrored(axle, *but: str):
    points = {n: at(*(xyz[0] * np.array([1.0, -1.0, 1.0]))) for n, xyz in points_of(axle).items() if n not in but}
    return with_points(axle, **points)


SAME, MIXED = "same place", "mixed up"
BAD = {
    "pivots of the lower arm coincide": (WISHBONE, {"lower_arm_rear": POINT.lower_arm_front}, "lower_arm_rear", SAME),
    "pivots of the upper arm coincide": (WISHBONE, {"upper_arm_rear": POINT.upper_arm_front}, "upper_arm_rear", SAME),
    "ball joints coincide": (WISHBONE, {"upper_ball_joint": POINT.lower_ball_joint}, "upper_ball_joint", SAME),
    "ends of the tie rod coincide": (WISHBONE, {"tie_rod_end": POINT.rack_end}, "tie_rod_end", SAME),
    "ends of the strut coincide": (WISHBONE, {"strut_bottom": POINT.strut_top}, "strut_bottom", SAME),
    "ball joint on its arm's axis": (
        WISHBONE, {"lower_ball_joint": at(-20, 316, -66)}, "lower_ball_joint", "cannot swing",
    ),
    "no upper arm": (WISHBONE, {"upper_arm_front": None}, "upper_arm_front", "upper arm"),
    "no upper ball joint": (WISHBONE, {"upper_ball_joint": None}, "upper_ball_joint", "upper arm"),
    "an upper arm on a strut": (
        MACPHERSON, {"upper_ball_joint": at(0, 660, 200)}, "upper_ball_joint", "no upper arm",
    ),
    "a strut on its lower arm": (MACPHERSON, {"strut_bottom_on": "lower_arm"}, "strut_bottom_on", "upright"),
    "spin axis of no length": (WISHBONE, {"spin_axis": at(0, 0, 0)}, "spin_axis", "no length"),
    "output axis of no length": (WISHBONE, {"output_axis": at(0, 0, 0)}, "output_axis", "no length"),
    "spin axis inwards": (WISHBONE, {"spin_axis": at(0, -1, 0)}, "spin_axis", "outwards"),
    "output axis inwards": (WISHBONE, {"output_axis": at(0, -1, 0)}, "output_axis", "outwards"),
    "metres": (scaled(WISHBONE, 1e-3), {}, "", "millimetres"),
    "metres on a strut": (scaled(MACPHERSON, 1e-3), {}, "", "millimetres"),
    "the right wheel": (mirrored(WISHBONE), {}, "spin_axis", "left"),
    "the right wheel with a left axis": (
        mirrored(WISHBONE, "spin_axis", "output_axis"), {}, "wheel_centre", "left and right",
    ),
    "strut upside down": (
        WISHBONE, {"strut_top": POINT.strut_bottom, "strut_bottom": POINT.strut_top}, "strut_top", MIXED,
    ),
    "arch mark below the hub": (WISHBONE, {"arch_mark": at(0, 780, -542)}, "arch_mark", "upwards"),
    "stop and plate mixed up": (
        WISHBONE, {"bump_stop": POINT.bump_plate, "bump_plate": POINT.bump_stop}, "bump_plate", MIXED,
    ),
    "not a number": (WISHBONE, {"rack_end": (Reading(nan), *POINT.rack_end[1:])}, "rack_end/0", "coordinate"),
    "endless": (WISHBONE, {"rack_end": (*POINT.rack_end[:2], Reading(inf))}, "rack_end/2", "coordinate"),
    "a kilometre off": (WISHBONE, {"wheel_centre": at(1e6, 766, 12)}, "wheel_centre/0", "coordinate"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_hard_points(name):
    axle, points, point, words = BAD[name]
    faults = refused(with_points(axle, **points))
    pointer = f"{AT}/{point}" if point else AT
    assert pointer in faults, faults
    assert words in faults[pointer]
    assert all(len(detail) > 20 for detail in faults.values())


@pytest.mark.parametrize("slip", [np.array([1.0, -1.0, 1.0]), 1e-3], ids=["other side", "metres"])
@pytest.mark.parametrize("name", ["upper_ball_joint", "lower_ball_joint", "tie_rod_end", "wheel_centre"])
def test_a_slip_in_a_single_point_of_the_upright(name, slip):
    """No upright is half a metre wide: a sign or a unit was lost on the way."""
    xyz = points_of(WISHBONE)[name][0] * slip
    assert any(
        name in pointer + detail for pointer, detail in refused(with_points(WISHBONE, **{name: at(*xyz)})).items()
    )


def test_an_upper_arm_in_line_with_the_upright_cannot_move():
    """Arm and upright stretched into one line: the linkage stands in its toggle."""
    lower, pivot = (np.array([c.value for c in p]) for p in (POINT.lower_ball_joint, POINT.upper_arm_front))
    middle = np.array([(POINT.upper_arm_front[0].value + POINT.upper_arm_rear[0].value) / 2, pivot[1], pivot[2]])
    line = middle + 0.45 * (lower - middle)
    faults = refused(with_points(WISHBONE, upper_ball_joint=at(*line), upper_arm_rear=at(-122, 418, 218)))
    assert f"{AT}/upper_ball_joint" in faults
    assert "hardly moves" in faults[f"{AT}/upper_ball_joint"]


@pytest.mark.parametrize("bad", [0.0, -52.0, 1e6, nan, inf])
@pytest.mark.parametrize("layout", SURVEYED)
def test_a_rack_that_travels_by_an_impossible_way(layout, bad):
    faults = refused(with_points(SURVEYED[layout], rack_travel_mm=Reading(bad)))
    assert f"{AT}/rack_travel_mm" in faults
    assert plain(faults[f"{AT}/rack_travel_mm"])


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
def test_a_layout_that_does_not_go_by_hard_points(layout):
    faults = refused(with_envelope(WISHBONE, layout=layout, limits={}))
    assert AT in faults
    assert "tape" in faults[AT]


@pytest.mark.parametrize(
    "place", [(nan, 662, 214), (1e6, 662, 214), (-22, 420, 216), (-22, -662, 214), (-22, 1400, 214)]
)
def test_an_upper_arm_that_cannot_meet_the_upright(place):
    """The part is at fault, and named; nothing about it is merely unknown."""
    arm = part_of(UpperArm, ball_joint_max_angle_deg=40, ball_joint_mm=at(*place))
    with pytest.raises(RefusedError) as refusal:
        WISHBONE.record([arm])
    assert any(f.pointer.startswith("/parts/0/part/ball_joint_mm") for f in refusal.value.faults)
    assert all(len(fault.detail) > 20 for fault in refusal.value.faults)


def test_hard_points_and_their_axle_as_they_are():
    for axle in SURVEYED.values():
        assert refused(axle) == {}
    assert (
        refused(with_envelope(WISHBONE, travel=replace(WISHBONE.envelope.travel, bump_stop_ratio=Reading(0.5)))) == {}
    )


@pytest.mark.parametrize("layout", SURVEYED)
@pytest.mark.parametrize("parts", ["strap", "strut"])
def test_what_holds_the_wheel_where_the_stop_touches_already(layout, parts):
    """As on a taped axle: no travel would be left."""
    strap = part_of(LimitStrap, max_arch_to_hub_mm=400)
    short = part_of(Strut, extended_length_mm=420, closed_length_mm=300, seat_offset_mm=222)
    with pytest.raises(RefusedError):
        SURVEYED[layout].record([strap if parts == "strap" else short])
