"""A surveyed axle, taped by the test itself at nine stations, is the same axle: verdicts, and margins within 0.3 mm."""

from dataclasses import replace

import numpy as np
import pytest
from reference_axles import TapedAxle, checks_of, part_of, station
from survey_by_hand import of_axle
from surveyed_axles import SURVEYED, with_envelope, with_points

from service.engine import Limit, Reading, Travel
from service.engine.parts import BumpStopSpacer, CoilSpring, LimitStrap, SpringSpacer, Strut, StrutTopSpacer

EXACTLY = 1e-3
"""Half-width of every reading, mm: what is compared is the two ways of reckoning, not two tapes."""
NEAR_MM = 0.3
TAPED = ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm")


def sure(value, half_width=EXACTLY):
    return None if value is None else Reading(value.value, half_width)


def sharp(axle: TapedAxle) -> TapedAxle:
    held = axle.envelope.travel.hard_points
    points = {
        name: tuple(map(sure, xyz))
        for name in held.__dataclass_fields__
        if isinstance(xyz := getattr(held, name), tuple)
    }
    limits = {joint: Limit(Reading(648.0, EXACTLY)) for joint in axle.envelope.limits}
    return with_envelope(with_points(axle, **points), limits=limits)


def taped(axle: TapedAxle) -> TapedAxle:
    """Nine stations of the linkage itself, from past full droop to past full bump, and the stop's own ratio."""
    by_hand, fitted = of_axle(axle), axle.envelope.fitted
    crush = fitted.bump_stop.free_height_mm.value - fitted.bump_stop.crushed_height_mm.value
    named = {
        "full_droop": by_hand.angle_where(by_hand.strut, np.array([[fitted.strut.extended_length_mm.value]])),
        "ride": np.zeros((1, 1)),
        "bump_contact": by_hand.angle_where(by_hand.room, np.array([[0.0]])),
    }
    bump = by_hand.angle_where(by_hand.room, np.array([[-crush]]))
    droop, contact = (float(named[at][0, 0]) for at in ("full_droop", "bump_contact"))
    between = [2.0 * droop / 3.0, droop / 3.0, contact / 2.0, float(bump[0, 0]), 1.3 * droop, float(bump[0, 0]) * 1.15]
    places = [*((at, float(angle[0, 0])) for at, angle in named.items()), *(("between", angle) for angle in between)]
    stations = []
    for at, angle in places:
        pose = by_hand.pose(np.array([angle]))
        height, strut = float(by_hand.height(pose)[0, 0]), float(by_hand.strut(pose)[0, 0])
        taken = station(at, height, strut - fitted.strut.seat_offset_mm.value, strut)
        stations.append(replace(taken, **{field: sure(getattr(taken, field)) for field in TAPED}))
    heights = [float(by_hand.height(by_hand.pose(angle))[0, 0]) for angle in (named["bump_contact"], bump)]
    ratio = Reading(crush / (heights[0] - heights[1]), 1e-6)
    return with_envelope(axle, travel=Travel(tuple(stations), bump_stop_ratio=ratio))


def top(thickness):
    return part_of(StrutTopSpacer, thickness_mm=thickness)


BUILDS = {
    "factory": [],
    "top spacer": [top(10)],
    "spring spacer and stop spacer": [part_of(SpringSpacer, thickness_mm=8), part_of(BumpStopSpacer, thickness_mm=2)],
    "spring": [part_of(CoilSpring, wire_mm=15, total_coils=9, free_length_mm=425, rate_n_per_mm=52)],
    "strap": [part_of(LimitStrap, max_arch_to_hub_mm=600)],
    "thick top spacer": [top(30)],
}


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("layout", SURVEYED)
def test_the_same_axle_by_tape(layout, name):
    """A spacer on a MacPherson strut tilts it, which no tape can know: there the gap alone is compared, to 0.5 mm."""
    axle = sharp(SURVEYED[layout])
    surveyed, by_tape = axle.record(BUILDS[name]), taped(axle).record(BUILDS[name])
    tilts = layout == "macpherson" and "top spacer" in name
    near = 0.6 if tilts else NEAR_MM
    assert surveyed["verdict"] == by_tape["verdict"]
    told = checks_of(by_tape)
    compared = 0
    for check_name, check in checks_of(surveyed).items():
        if check_name in ("linkage_lock", "upper_ball_joint", "lower_ball_joint", "tie_rod_end"):
            continue  # nobody tapes where a linkage locks; of the ball joints' bump side the two know different things
        same = told[check_name]
        assert same["outcome"] == check["outcome"], (check_name, check["because"], same["because"])
        if check["margin"] is not None and check["quantity"].endswith("_mm"):
            assert same["margin"] == pytest.approx(check["margin"], abs=near), check_name
            compared += 1
    assert compared >= 5
    for one, other in zip(surveyed["positions"], by_tape["positions"], strict=True):
        for quantity in ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm"):
            assert other[quantity]["value"] == pytest.approx(one[quantity]["value"], abs=near), (one["at"], quantity)
        assert other["motion_ratio"]["value"] == pytest.approx(one["motion_ratio"]["value"], abs=0.01), one["at"]


@pytest.mark.parametrize("layout", SURVEYED)
def test_another_strut_on_the_same_axle_by_tape(layout):
    axle = sharp(SURVEYED[layout])
    old = axle.envelope.fitted.strut
    strut = part_of(
        Strut, extended_length_mm=old.extended_length_mm.value + 12, closed_length_mm=old.closed_length_mm.value + 5,
        seat_offset_mm=old.seat_offset_mm.value + 4,
    )  # fmt: skip
    surveyed, by_tape = axle.record([strut]), taped(axle).record([strut])
    for check in ("coil_bind", "damper_bottoming", "spring_retention", "brake_hose"):
        margins = [checks_of(record)[check]["margin"] for record in (surveyed, by_tape)]
        assert margins[1] == pytest.approx(margins[0], abs=NEAR_MM), check
