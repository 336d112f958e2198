"""Where the factory strut's length and the wheel as taped at full droop contradict each other, none acquits a build."""

from dataclasses import replace

import pytest
from beam_axles import LEAF
from known_readings import axle_readings, with_datum, without, without_below
from reference_axles import WISHBONE, TapedAxle, checks_of, part_of

from service.engine import Reading
from service.engine.parts import BumpStop, Damper, LeafBlock, Shackle, SpringSpacer, Strut

TAPED_GAP, TAPED_HEIGHT, OFFSET = 318.0, 628.0, 231.0
UNKNOWN_LIMITS = without_below(WISHBONE, "/limits")
DROOP_JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")


def droop(record) -> float:
    return next(p for p in record["positions"] if p["at"] == "full_droop")["arch_to_hub_mm"]["value"]


def strut_says(axle: TapedAxle, extended: float) -> TapedAxle:
    return with_datum(axle, "/fitted/strut/extended_length_mm", Reading(extended))


def another_strut(extended: float) -> list:
    return [part_of(Strut, extended_length_mm=extended, closed_length_mm=400, seat_offset_mm=OFFSET)]


@pytest.mark.parametrize("says", [529.0, 537.0, 545.0, 549.0])
def test_a_strut_that_is_longer_than_the_factorys_lets_the_wheel_hang_lower(says):
    """Even if it ends short of where the wheel was taped: it is 9 mm longer than what let it hang there."""
    record = strut_says(UNKNOWN_LIMITS, says).record(another_strut(says + 9.0))
    for joint in DROOP_JOINTS:
        assert checks_of(record)[joint]["outcome"] == "undetermined", joint
    if says < 543.0:  # further apart than the tape errs: the taped droop holds
        assert droop(record) > TAPED_HEIGHT


@pytest.mark.parametrize("says", [556.0, 560.0, 575.0])
def test_a_strut_that_ends_below_where_the_wheel_was_taped_is_not_acquitted_by_a_length_on_paper(says):
    record = strut_says(UNKNOWN_LIMITS, says).record(another_strut(552.0))
    for joint in DROOP_JOINTS:
        assert checks_of(record)[joint]["outcome"] == "undetermined", joint


@pytest.mark.parametrize("says", [547.0, 549.0, 551.0, 554.0])
def test_readings_that_differ_as_tapes_do_leave_the_strut_to_be_compared_by_its_length(says):
    """One that is surely shorter than the factory's takes no joint further; one of the same length may."""
    axle = strut_says(UNKNOWN_LIMITS, says)
    for longer, outcome in ((-5.0, "clear"), (0.0, "undetermined"), (5.0, "undetermined")):
        record = axle.record(another_strut(says + longer))
        assert {checks_of(record)[joint]["outcome"] for joint in DROOP_JOINTS} == {outcome}, longer


@pytest.mark.parametrize("says", [556.0, 560.0, 575.0])
def test_nor_is_its_spring(says):
    unknown = without(strut_says(UNKNOWN_LIMITS, says), "/fitted/spring/free_length_mm")
    assert checks_of(unknown.record(another_strut(552.0)))["spring_retention"]["outcome"] == "undetermined"


@pytest.mark.parametrize("short", [3.0, 4.5, 5.9])
@pytest.mark.parametrize("half_width", [None, 0.0])
def test_a_spring_that_was_taped_loose_is_not_clear(short, half_width):
    """The gap taped at full droop is as long as the spring; by the strut's length, a little shorter, it is pressed."""
    axle = strut_says(without_below(WISHBONE, "/travel/stations/0/damper_length_mm"), TAPED_GAP + OFFSET - short)
    sure = {
        pointer: Reading(datum.value, half_width)
        for pointer, datum in axle_readings(axle).items()
        if isinstance(datum, Reading)
    }
    for pointer, datum in sure.items() if half_width is not None else ():
        axle = with_datum(axle, pointer, datum)
    loose = with_datum(axle, "/fitted/spring/free_length_mm", Reading(TAPED_GAP, half_width))
    check = checks_of(loose.record())["spring_retention"]
    assert check["outcome"] != "clear"


@pytest.mark.parametrize("short", [3.0, 4.5, 5.9])
def test_a_joint_that_binds_where_the_wheel_was_taped_is_not_clear(short):
    axle = strut_says(WISHBONE, TAPED_GAP + OFFSET - short)
    sharp = {
        p: Reading(d.value, 0.1) for p, d in axle_readings(axle).items() if isinstance(d, Reading) and d.value > 3.0
    }
    for pointer, datum in sharp.items():
        axle = with_datum(axle, pointer, datum)
    bound = with_datum(axle, "/limits/inner_cv/reached_at_arch_to_hub_mm", Reading(TAPED_HEIGHT, 0.1))
    assert checks_of(bound.record())["inner_cv"]["outcome"] != "clear"


UNTAPED_DAMPER = without(LEAF, *(f"/travel/stations/{i}/damper_length_mm" for i in range(4)))


def test_a_damper_whose_mounts_were_never_taped_does_not_hold_leaves_on_a_block():
    """Its length alone says nothing of where it ends the droop: the block lowers the axle by what it is high."""
    record = UNTAPED_DAMPER.record([part_of(LeafBlock, height_mm=40)])
    assert droop(record) == pytest.approx(638.0 + 40.0, abs=1e-3)
    short_hose = with_datum(UNTAPED_DAMPER, "/limits/brake_hose/reached_at_arch_to_hub_mm", Reading(670.0))
    unspread = replace(short_hose.envelope, track_mm=None)
    check = checks_of(short_hose._replace(envelope=unspread).record([part_of(LeafBlock, height_mm=40)]))["brake_hose"]
    assert check["outcome"] == "unsafe"
    assert check["margin"] == pytest.approx(670.0 - 678.0, abs=1e-3)


def test_a_damper_shorter_than_it_was_taped_does_not_hold_leaves_higher():
    record = with_datum(LEAF, "/fitted/damper/extended_length_mm", Reading(590.0)).record()
    assert droop(record) == pytest.approx(638.0, abs=1e-3)
    assert any("hangs 21.0 mm of strut higher" in sentence for sentence in record["assumptions"])


@pytest.mark.parametrize("stated", [True, False])
def test_a_damper_length_that_one_station_contradicts_is_not_sure(stated):
    """Taped at bump contact the strut is 10.5 mm shorter than the seat gap and the offset of the others make it."""
    axle = WISHBONE if stated else without(WISHBONE, "/fitted/strut/seat_offset_mm")
    odd = with_datum(axle, "/travel/stations/2/damper_length_mm", Reading(440.0))
    sure, unsure = (checks_of(each.record())["damper_bottoming"] for each in (axle, odd))
    lower = sure["margin"] - 10.5
    assert unsure["margin"] - 1.96 * unsure["standard_uncertainty"] < lower + 1.0


UNTAPED_DROOP = without_below(LEAF, "/travel/stations/0", "/limits")


@pytest.mark.parametrize("part", [part_of(LeafBlock, height_mm=20), part_of(Shackle, length_mm=133)])
def test_leaves_whose_droop_was_reckoned_are_nothing_to_hold_others_to(part):
    """By their rate they hang as low as the damper lets them, whatever is fitted; seen they were 18 mm higher."""
    told = checks_of(UNTAPED_DROOP.record([part]))
    assert (told["brake_hose"]["outcome"], told["shackle_past_line"]["outcome"]) == ("undetermined", "undetermined")


@pytest.mark.parametrize(("extended", "outcome"), [(600.0, "clear"), (628.0, "undetermined"), (640.0, "undetermined")])
def test_a_damper_alone_lets_such_leaves_hang_no_lower_than_a_surely_longer_one(extended, outcome):
    told = checks_of(UNTAPED_DROOP.record([part_of(Damper, extended_length_mm=extended, closed_length_mm=368)]))
    assert (told["brake_hose"]["outcome"], told["shackle_past_line"]["outcome"]) == (outcome, outcome)


def damper(extended: float) -> Damper:
    return part_of(Damper, extended_length_mm=extended, closed_length_mm=368)


@pytest.mark.parametrize("rate", [36.0, 40.0, 45.0, 50.0])
@pytest.mark.parametrize(
    ("extended", "outcome"),
    [*((e, "clear") for e in (560, 590, 600, 610, 620)), *((e, "undetermined") for e in (627.5, 628, 640))],
)
def test_wherever_such_leaves_may_hang_the_dampers_alone_tell_which_goes_lower(rate, extended, outcome):
    """By their rate the leaves hang above or below where either damper ends; the factory's is 628 mm long."""
    stiff = with_datum(UNTAPED_DROOP, "/fitted/leaf_pack/rate_n_per_mm", Reading(rate))
    told = checks_of(stiff.record([damper(extended)]))
    assert (told["brake_hose"]["outcome"], told["shackle_past_line"]["outcome"]) == (outcome, outcome)


@pytest.mark.parametrize("rate", [36.0, 40.0, 50.0])
def test_a_shorter_damper_makes_up_for_no_further_rise_of_the_other_wheel(rate):
    """The leaves may hang higher than either damper would end: the lower wheel then goes as much further."""
    stiff = with_datum(UNTAPED_DROOP, "/fitted/leaf_pack/rate_n_per_mm", Reading(rate))
    stop = part_of(BumpStop, free_height_mm=50, crushed_height_mm=15)
    told = checks_of(stiff.record([damper(580), stop]))
    assert (told["brake_hose"]["outcome"], told["shackle_past_line"]["outcome"]) == ("undetermined", "clear")


def test_what_differs_by_rounding_alone_is_no_doubt():
    """302.8 mm of gap and an offset of 201.4 mm make 504.2 mm of strut, but for the last digit of a computer."""
    untaped = without_below(WISHBONE, *(f"/travel/stations/{i}/damper_length_mm" for i in range(4)))
    offset = with_datum(untaped, "/fitted/strut/seat_offset_mm", Reading(201.4))
    axle = strut_says(with_datum(offset, "/travel/stations/0/seat_gap_mm", Reading(302.8)), 504.2)
    assert "droop_doubt" not in axle.build().axle.columns.names


def test_what_the_doubt_adds_to_an_uncertainty_is_named_by_itself():
    told = checks_of(strut_says(WISHBONE, 544.0).record())["brake_hose"]["details"]["uncertainty_from"]
    named = [each["reading"] for each in told]
    assert named[0] == "what lies between the extended length and the droop as taped"
    assert len(set(named)) == len(named)


@pytest.mark.parametrize("says", [543.5, 546.0, 549.0, 552.0])
def test_a_doubt_about_the_droop_is_none_about_what_a_build_adds_to_it(says):
    """A build that keeps the factory strut goes no further, however far that is."""
    record = strut_says(UNKNOWN_LIMITS, says).record([part_of(SpringSpacer, thickness_mm=10)])
    for joint in DROOP_JOINTS:
        assert (checks_of(record)[joint]["outcome"], checks_of(record)[joint]["details"]) == (
            "clear", {"further_than_factory_mm": 0.0}
        ), joint  # fmt: skip


@pytest.mark.parametrize(("says", "doubt"), [(543.5, 5.5), (546.0, 3.0), (549.0, 0.0), (552.0, 0.0)])
def test_a_wheel_taped_a_little_lower_than_the_strut_lets_it_is_carried_as_doubt(says, doubt):
    """A half-width that covers both (JCGM 100:2008, 4.3.7): by the strut's own uncertainty and the motion ratio."""
    here, sure = (
        next(p for p in strut_says(WISHBONE, length).record()["positions"] if p["at"] == "full_droop")
        for length in (says, TAPED_GAP + OFFSET)
    )
    added = (here["damper_length_mm"]["plus_minus"] ** 2 - sure["damper_length_mm"]["plus_minus"] ** 2) ** 0.5
    assert added == pytest.approx(2.0 * doubt / 3.0**0.5, abs=2e-3)


def test_what_moves_no_droop_is_no_worse_than_the_factory_whatever_is_known_of_it():
    assert checks_of(UNTAPED_DROOP.record())["brake_hose"]["outcome"] == "clear"
    flat = UNTAPED_DROOP._replace(envelope=replace(UNTAPED_DROOP.envelope, track_mm=None))
    stop = part_of(BumpStop, free_height_mm=50, crushed_height_mm=15)
    assert checks_of(flat.record([stop]))["brake_hose"]["outcome"] == "clear"
