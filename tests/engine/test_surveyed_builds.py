"""Builds on surveyed axles: what moves a pivot, a joint or an arm is solved anew."""

import numpy as np
import pytest
from reference_axles import TapedAxle, checks_of, part_of
from survey_by_hand import of_axle, points_of
from surveyed_axles import MACPHERSON, SURVEYED, WISHBONE, at, with_envelope, with_points

from service.engine import Limit, Reading, evaluate
from service.engine.parts import (
    BumpStop,
    BumpStopSpacer,
    DifferentialSpacer,
    Strut,
    StrutTopSpacer,
    UpperArm,
)

CLOSE_MM = CLOSE_DEG = 2e-4


def placed(record) -> dict[str, float]:
    return {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"] if p["arch_to_hub_mm"]}


def height_where(by_hand, quantity, wanted: float) -> float:
    angle = by_hand.angle_where(quantity, np.array([[wanted]]))
    return float(by_hand.height(by_hand.pose(angle))[0, 0])


def top_spacer(thickness: float) -> StrutTopSpacer:
    return part_of(StrutTopSpacer, thickness_mm=thickness)


def lowered_pivot(axle: TapedAxle, thickness: float) -> np.ndarray:
    """How far the pivot of a strut moves, (1, 3) mm: along the strut, towards its bottom."""
    points = points_of(axle)
    along = points["strut_bottom"] - points["strut_top"]
    return thickness * along / np.linalg.norm(along)


@pytest.mark.parametrize("thickness", [8.0, 20.0, 35.0])
def test_a_spacer_on_a_macpherson_strut_moves_its_pivot(thickness):
    """The strut is as long at the ends of its travel as before, from a pivot that stands lower."""
    by_hand = of_axle(MACPHERSON, pivot_shift=lowered_pivot(MACPHERSON, thickness))
    unmoved = of_axle(MACPHERSON)
    fitted = MACPHERSON.envelope.fitted
    touches = float(unmoved.strut(unmoved.pose(np.zeros(1)))[0, 0]) - float(
        np.linalg.norm(unmoved.at["bump_plate"] - unmoved.at["bump_stop"])
    )
    crush = fitted.bump_stop.free_height_mm.value - fitted.bump_stop.crushed_height_mm.value
    found = placed(MACPHERSON.record([top_spacer(thickness)]))
    lengths = {
        "full_droop": fitted.strut.extended_length_mm.value,
        "bump_contact": touches,
        "full_bump": touches - crush,
    }
    wanted = {name: height_where(by_hand, by_hand.strut, length) for name, length in lengths.items()}
    assert {name: found[name] for name in wanted} == pytest.approx(wanted, abs=CLOSE_MM)


@pytest.mark.parametrize("thickness", [8.0, 20.0, 35.0])
def test_a_top_spacer_leaves_the_strut_of_a_stop_on_its_rod_as_long_at_both_ends(thickness):
    """Contact is a fixed strut length: the spacer moves it down in place of eating the gap of the coil."""
    factory, spaced = MACPHERSON.record(), MACPHERSON.record([top_spacer(thickness)])
    for before, after in zip(factory["positions"], spaced["positions"], strict=True):
        if before["at"] != "ride":
            assert after["seat_gap_mm"]["value"] == pytest.approx(before["seat_gap_mm"]["value"], abs=CLOSE_MM), before[
                "at"
            ]
    for check in ("coil_bind", "damper_bottoming"):
        margins = [checks_of(record)[check]["margin"] for record in (factory, spaced)]
        assert margins[1] == pytest.approx(margins[0], abs=CLOSE_MM)


@pytest.mark.parametrize("thickness", [8.0, 20.0])
def test_a_macpherson_surveyed_with_its_pivot_lower_is_the_same_linkage(thickness):
    """Moved along the strut, the pivot stays on its axis: wheel, camber, joints of the shaft are the same functions."""
    top = (points_of(MACPHERSON)["strut_top"] + lowered_pivot(MACPHERSON, thickness))[0]
    surveyed = with_points(MACPHERSON, strut_top=at(*top)).build().axle.travel
    spaced = MACPHERSON.build([top_spacer(thickness)]).axle.travel
    heights, column = np.linspace(450.0, 630.0, 40), np.zeros(40, dtype=np.intp)
    assert spaced.damper.at(heights, column).span_mm == pytest.approx(
        surveyed.damper.at(heights, column).span_mm, abs=CLOSE_MM
    )
    was, now = (travel.surveyed.at(heights, column) for travel in (surveyed, spaced))
    for name in ("camber", "toe", "outer_cv"):
        assert now[name] == pytest.approx(was[name], abs=CLOSE_DEG), name


@pytest.mark.parametrize("thickness", [10.0, 25.0])
def test_a_spacer_on_a_coil_over_moves_the_wheel_by_the_curve_alone(thickness):
    by_hand, fitted = of_axle(WISHBONE), WISHBONE.envelope.fitted
    found = placed(WISHBONE.record([top_spacer(thickness)]))
    assert found["full_droop"] == pytest.approx(
        height_where(by_hand, by_hand.strut, fitted.strut.extended_length_mm.value + thickness), abs=CLOSE_MM
    )
    factory = placed(WISHBONE.record())
    assert {name: found[name] for name in ("bump_contact", "full_bump")} == pytest.approx(
        {name: factory[name] for name in ("bump_contact", "full_bump")}, abs=1e-4
    )


@pytest.mark.parametrize("layout", SURVEYED)
@pytest.mark.parametrize("drop", [10.0, 25.0])
def test_a_differential_spacer_lowers_the_inner_joint(layout, drop):
    axle = SURVEYED[layout]
    x, y, z = axle.envelope.travel.hard_points.inner_cv
    lowered = with_points(axle, inner_cv=(x, y, Reading(z.value - drop)))
    spaced = axle.build([part_of(DifferentialSpacer, drop_mm=drop)])
    record, build = evaluate([spaced]).record(0), spaced.axle.travel.surveyed
    wanted = of_axle(lowered)
    heights, column = (
        np.array([placed(record)[name] for name in ("full_droop", "full_bump")]),
        np.zeros(2, dtype=np.intp),
    )
    told = build.at(heights, column)
    angles = np.array([[float(wanted.angle_where(wanted.height, np.array([[h]]))[0, 0]) for h in heights]])
    pose = wanted.pose(angles)
    assert told["inner_cv"] == pytest.approx(wanted.inner_cv(pose)[0], abs=CLOSE_DEG)
    assert told["outer_cv"] == pytest.approx(wanted.outer_cv(pose)[0], abs=CLOSE_DEG)
    as_built = of_axle(axle)
    at_ride = np.linalg.norm(as_built.shaft(as_built.pose(np.zeros(1))))
    plunge = np.linalg.norm(wanted.shaft(pose), axis=-1) - at_ride
    assert told["plunge"] == pytest.approx(plunge[0], abs=CLOSE_MM), "from the factory's length at ride"


@pytest.mark.parametrize("moved", [(0.0, -6.0, 3.0), (4.0, 5.0, 0.0), (0.0, -10.0, 0.0)])
def test_an_upper_arm_that_holds_its_joint_elsewhere_is_a_linkage_of_its_own(moved):
    surveyed = np.array([c.value for c in WISHBONE.envelope.travel.hard_points.upper_ball_joint])
    held = surveyed + np.array(moved)
    arm = part_of(UpperArm, ball_joint_max_angle_deg=40, ball_joint_mm=at(*held))
    by_hand = of_axle(WISHBONE, arm=held[None])
    record = WISHBONE.record([arm])
    fitted = WISHBONE.envelope.fitted
    found = placed(record)
    assert found["full_droop"] == pytest.approx(
        height_where(by_hand, by_hand.strut, fitted.strut.extended_length_mm.value), abs=CLOSE_MM
    )
    angle = by_hand.angle_where(by_hand.strut, np.array([[fitted.strut.extended_length_mm.value]]))
    told = next(position["joints"] for position in record["positions"] if position["at"] == "full_droop")
    pose = by_hand.pose(angle)
    lower = float(by_hand.ball_joint("lower_ball_joint", pose, of_axle(WISHBONE).pose(np.zeros(1)))[0, 0])
    assert told["lower_ball_joint"]["margin_deg"]["value"] == pytest.approx(34.0 - lower, abs=CLOSE_DEG)
    upper = float(by_hand.ball_joint("upper_ball_joint", pose, by_hand.pose(np.zeros(1)))[0, 0])
    assert told["upper_ball_joint"]["margin_deg"]["value"] == pytest.approx(40.0 - upper, abs=CLOSE_DEG)


def test_an_arm_that_holds_its_joint_where_it_was_changes_nothing_but_its_own_limit():
    same = WISHBONE.envelope.travel.hard_points.upper_ball_joint
    arm = part_of(UpperArm, ball_joint_max_angle_deg=38, ball_joint_mm=same)
    factory, replaced = checks_of(WISHBONE.record()), checks_of(WISHBONE.record([arm]))
    for name, check in factory.items():
        # The outer CV joint is as tight at full lock at one end as at the other: which is told turns on what is unsure.
        if check["margin"] is not None and replaced[name]["at"] == check["at"]:
            assert replaced[name]["margin"] == pytest.approx(check["margin"], abs=CLOSE_MM), name
    assert [name for name in factory if replaced[name]["at"] != factory[name]["at"]] in ([], ["outer_cv"])


def test_a_neutral_position_is_the_factorys_whatever_the_build_does():
    """Where pin and socket are in line is a matter of the axle as surveyed, at its own arch-to-hub."""
    neutral = 575.0
    limits = {"lower_ball_joint": Limit(max_angle_deg=Reading(30.0), neutral_arch_to_hub_mm=Reading(neutral))}
    for axle, parts, options in (
        (MACPHERSON, [top_spacer(35.0)], {"pivot_shift": lowered_pivot(MACPHERSON, 35.0)}),
        (WISHBONE, [part_of(UpperArm, ball_joint_max_angle_deg=40, ball_joint_mm=at(-22, 640, 220))],
         {"arm": np.array([[-22.0, 640.0, 220.0]])}),
    ):  # fmt: skip
        as_surveyed, by_hand = of_axle(axle), of_axle(axle, **options)
        in_line = as_surveyed.pose(as_surveyed.angle_where(as_surveyed.height, np.array([[neutral]])))
        pose = by_hand.pose(
            by_hand.angle_where(by_hand.strut, np.array([[axle.envelope.fitted.strut.extended_length_mm.value]]))
        )
        wanted = float(by_hand.ball_joint("lower_ball_joint", pose, in_line)[0, 0])
        record = with_envelope(axle, limits=limits).record(parts)
        told = next(p["joints"]["lower_ball_joint"] for p in record["positions"] if p["at"] == "full_droop")
        assert told["margin_deg"]["value"] == pytest.approx(30.0 - wanted, abs=0.02), axle.envelope.layout


def outer_joint_by_hand(axle: TapedAxle, by_hand) -> dict[str, float]:
    """The outer CV joint's greatest angle at either end of the travel, straight ahead and at full lock either way."""
    fitted, rack = axle.envelope.fitted, axle.envelope.travel.hard_points.rack_travel_mm.value
    crush = fitted.bump_stop.free_height_mm.value - fitted.bump_stop.crushed_height_mm.value
    ends = {
        "full_droop": by_hand.angle_where(by_hand.strut, np.array([[fitted.strut.extended_length_mm.value]])),
        "full_bump": by_hand.angle_where(by_hand.room, np.array([[-crush]])),
    }
    return {
        end: max(float(by_hand.outer_cv(by_hand.pose(angle, np.array([[way * rack]])))[0, 0]) for way in (-1, 0, 1))
        for end, angle in ends.items()
    }


@pytest.mark.parametrize("layout", SURVEYED)
def test_the_outer_joint_is_judged_at_full_lock_either_way(layout):
    axle = SURVEYED[layout]
    greatest = outer_joint_by_hand(axle, of_axle(axle))
    check = checks_of(axle.record())["outer_cv"]
    limit = axle.envelope.limits["outer_cv"].max_angle_deg.value
    assert check["margin"] == pytest.approx(limit - greatest[check["at"]], abs=CLOSE_DEG)
    short = Limit(max_angle_deg=Reading(max(greatest.values()) - 0.01))
    tight = with_envelope(axle, limits={**axle.envelope.limits, "outer_cv": short})
    assert checks_of(tight.record())["outer_cv"]["outcome"] == "unsafe"


@pytest.mark.parametrize("layout", SURVEYED)
@pytest.mark.parametrize("limit", [Limit(max_angle_deg=Reading(27.5)), Limit()], ids=["known", "not known"])
def test_a_lowered_differential_bends_the_outer_joint_further_at_full_bump(layout, limit):
    """60 mm: it is bent less than the factory's at full droop, and some degrees more at full bump and full lock."""
    axle = with_envelope(SURVEYED[layout], limits={**SURVEYED[layout].envelope.limits, "outer_cv": limit})
    by_hand = of_axle(axle)
    factory = outer_joint_by_hand(axle, by_hand)
    by_hand.at["inner_cv"] = by_hand.at["inner_cv"] - np.array([[0.0, 0.0, 60.0]])
    lowered = outer_joint_by_hand(axle, by_hand)
    assert lowered["full_droop"] < factory["full_droop"] < lowered["full_bump"]
    check = checks_of(axle.record([part_of(DifferentialSpacer, drop_mm=60)]))["outer_cv"]
    assert check["at"] == "full_bump"
    if limit.max_angle_deg is None:
        assert check["outcome"] == "undetermined"
        return
    assert check["outcome"] == "unsafe"
    assert check["value"] == pytest.approx(lowered["full_bump"], abs=CLOSE_DEG)
    assert "full bump and full lock to the right" in check["because"]


@pytest.mark.parametrize("joint", ["lower_ball_joint", "tie_rod_end", "inner_cv"])
def test_the_tightest_of_a_joints_positions_is_the_one_that_is_told(joint):
    record = WISHBONE.record()
    check = checks_of(record)[joint]
    left = [
        told["value"]
        for p in record["positions"]
        for name, margins in p.get("joints", {}).items()
        for told in margins.values()
        if name == joint and "margin_deg" in margins
    ]
    if check["quantity"] == "angle_deg":
        assert check["margin"] == min(left)


@pytest.mark.parametrize("layout", SURVEYED)
def test_a_vehicle_surveyed_from_another_origin_is_the_same_vehicle(layout):
    axle, shift = SURVEYED[layout], np.array([120.0, -35.0, 410.0])
    moved = {
        name: at(*(xyz[0] + shift)) for name, xyz in points_of(axle).items() if name not in ("spin_axis", "output_axis")
    }
    parts = [top_spacer(12.0)]
    elsewhere = with_points(axle, **moved)
    for record, other in ((axle.record(parts), elsewhere.record(parts)), (axle.record(), elsewhere.record())):
        assert other["verdict"] == record["verdict"]
        for check, same in zip(record["checks"], other["checks"], strict=True):
            assert (check["check"], check["outcome"]) == (same["check"], same["outcome"])
            for number in ("margin", "standard_uncertainty"):
                if check[number] is not None:
                    assert same[number] == pytest.approx(check[number], abs=2e-4), (check["check"], number)


TALLER = (
    [],
    [part_of(BumpStopSpacer, thickness_mm=9)],
    [part_of(BumpStop, free_height_mm=64, crushed_height_mm=30)],
)
STOPS = {
    "arm": {},
    "body": {"bump_stop": at(2, 570, 6), "bump_plate": at(0, 566, -46)},
    "damper_rod": {"bump_stop": at(-8, 530, 240), "bump_plate": at(-8.7, 523, 275)},
}


@pytest.mark.parametrize("on", STOPS)
@pytest.mark.parametrize("parts", TALLER, ids=["factory", "stop spacer", "taller stop"])
def test_a_stop_on_the_arm_the_body_or_the_rod(on, parts):
    axle = with_envelope(with_points(WISHBONE, **STOPS[on]), bump_stop_on=on)
    by_hand, stop = of_axle(axle), axle.envelope.fitted.bump_stop
    new = next((p for p in parts if isinstance(p, BumpStop)), stop)
    growth = (
        new.free_height_mm.value
        - stop.free_height_mm.value
        + sum(p.thickness_mm.value for p in parts if isinstance(p, BumpStopSpacer))
    )
    crush = new.free_height_mm.value - new.crushed_height_mm.value
    found = placed(axle.record(parts))
    assert found["bump_contact"] == pytest.approx(height_where(by_hand, by_hand.room, growth), abs=CLOSE_MM)
    assert found["full_bump"] == pytest.approx(height_where(by_hand, by_hand.room, growth - crush), abs=CLOSE_MM)


@pytest.mark.parametrize("joint", ["inner_cv", "outer_cv", "upper_ball_joint", "tie_rod_end"])
@pytest.mark.parametrize("also", [{}, {"max_angle_deg": Reading(60.0)}], ids=["taped alone", "with an angle"])
def test_a_drop_at_which_a_joint_was_seen_to_bind_counts_on_a_surveyed_axle_too(joint, also):
    """Full droop is at 613 mm: whoever taped that the joint binds at 600 mm has seen it bind."""
    seen = Limit(reached_at_arch_to_hub_mm=Reading(600.0), **also)
    axle = with_envelope(WISHBONE, limits={**WISHBONE.envelope.limits, joint: seen})
    assert checks_of(axle.record())[joint]["outcome"] == "unsafe"


def test_a_drop_that_a_differential_spacer_states_counts_on_a_surveyed_axle_too():
    spacer = part_of(DifferentialSpacer, drop_mm=20, inner_cv_reached_at_arch_to_hub_mm=600)
    assert checks_of(WISHBONE.record([spacer]))["inner_cv"]["outcome"] == "unsafe"


def binding_in_bump(arch_to_hub_mm):
    limit = Limit(max_angle_deg=Reading(38.0), reached_in_bump_at_arch_to_hub_mm=Reading(arch_to_hub_mm))
    return with_envelope(WISHBONE, limits={**WISHBONE.envelope.limits, "upper_ball_joint": limit})


def test_a_rise_at_which_the_factorys_joint_binds_says_nothing_of_another_arms():
    arm = part_of(UpperArm, ball_joint_max_angle_deg=38)
    of_arm = checks_of(WISHBONE.record([arm]))["upper_ball_joint"]
    assert of_arm["outcome"] == "clear"
    assert checks_of(binding_in_bump(440.0).record([arm]))["upper_ball_joint"] == of_arm
    told = checks_of(binding_in_bump(600.0).record())["upper_ball_joint"]
    assert (told["outcome"], told["at"], told["quantity"]) == ("unsafe", "full_bump", "arch_to_hub_mm")


def test_how_far_the_hose_has_to_reach_is_told():
    longer = part_of(Strut, extended_length_mm=660, closed_length_mm=462, seat_offset_mm=296)
    by_hand = of_axle(WISHBONE)
    factory, extended = (
        by_hand.hose(by_hand.pose(by_hand.angle_where(by_hand.strut, np.array([[length]]))))[0, 0]
        for length in (WISHBONE.envelope.fitted.strut.extended_length_mm.value, 660.0)
    )
    told = checks_of(WISHBONE.record([longer]))["brake_hose"]["details"]
    assert told["factory_hose_span_mm"] == pytest.approx(factory, abs=CLOSE_MM)
    assert told["hose_span_mm"] == pytest.approx(extended, abs=CLOSE_MM)
    assert extended > factory + 1.0
