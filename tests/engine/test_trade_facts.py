"""Facts of the trade: common practice with no published source, told from the readings alone."""

import re

import pytest
from reference_axles import checks_of

from service.engine import (
    STANDARD,
    AxleEnvelope,
    Fitted,
    ProposedPart,
    Reading,
    Station,
    Travel,
    assemble,
    compile_axle,
    evaluate,
)
from service.engine.parts import CoilSpring, StrutTopSpacer
from service.engine.springs import common_practice_solid_length_mm

JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")


def axle():
    """Seat gap 300 mm at full droop, 220 mm with the stop just touching; no ride station, no stop, no strut known."""
    stations = (
        Station("full_droop", Reading(585), Reading(300)),
        Station("bump_contact", None, Reading(220)),
    )
    spring = CoilSpring(wire_mm=Reading(18), total_coils=Reading(11))
    return compile_axle(
        AxleEnvelope("wishbone_coilover", Travel(stations), fitted=Fitted(spring=spring)), None, "front", STANDARD
    )


def record_with(*parts):
    return evaluate([assemble(axle(), [ProposedPart(part) for part in parts])]).record(0)


def check(record, name):
    return next(c for c in record["checks"] if c["check"] == name)


SPACER = StrutTopSpacer(Reading(25))


def test_wire_thickness_times_windings():
    assert common_practice_solid_length_mm(18.0, 11.0) == 198.0  # a careful fitter calls it 200; common practice


def test_coil_gap_left_with_the_stop_just_touching():
    found = check(record_with(), "coil_bind")
    assert found["details"]["coil_gap_at_bump_contact_mm"] == pytest.approx(22.0)  # common practice
    assert found["outcome"] == "clear"
    assert found["margin"] is None
    assert any("factory" in basis["rule"] for basis in found["basis"])


def test_the_spacer_makes_the_coil_the_bump_stop():
    record = record_with(SPACER)
    found = check(record, "coil_bind")
    assert record["verdict"] == "unsafe"
    assert record["action"] == "stop"
    assert (found["outcome"], found["at"]) == ("unsafe", "bump_contact")
    assert found["details"]["seat_gap_at_bump_contact_mm"] == pytest.approx(195.0)  # common practice
    assert found["details"]["solid_length_mm"] == pytest.approx(198.0)
    assert found["margin"] == pytest.approx(-3.0)  # solid 3 mm before the rubber works: common practice
    assert record["headline"] == found["because"]
    assert "3 mm before the bump stop even touches" in record["headline"]
    assert record["first_hard_contact"]["by"] == "spring"
    assert record["first_hard_contact"]["bump_stop_crush_used_mm"] == 0.0


def test_no_gap_below_nought_is_told_as_left():
    wound = {"mean_diameter_mm": Reading(130), "forming": "cold", "ends": "closed_ground"}
    spring = CoilSpring(Reading(18), Reading(11), Reading(340), Reading(60), **wound)
    told = checks_of(record_with(SPACER, spring))
    assert told["coil_gap_recommended"]["value"] < 0.0
    assert told["coil_gap_recommended"]["because"].startswith("The spring goes solid ")
    assert not any(re.search(r"-[\d.]+ mm of coil gap are left", each["because"]) for each in told.values())


def test_the_assumed_motion_ratio_does_not_spoil_coil_bind_at_contact():
    # The seat gap's own +-2 mm, the wire's +-0.1 mm on 11 windings, the spacer's +-1 mm: rectangular, nothing else.
    expected = ((2.0**2 + 1.1**2 + 1.0**2) / 3.0) ** 0.5
    assert check(record_with(SPACER), "coil_bind")["standard_uncertainty"] == pytest.approx(expected, abs=1e-4)


def test_the_spacer_keeps_the_seat_gap_at_full_droop_and_drops_the_wheel():
    droop = record_with(SPACER)["positions"][0]
    assert droop["seat_gap_mm"]["value"] == pytest.approx(300.0)  # common practice
    predicted = droop["arch_to_hub_mm"]
    assert predicted["value"] == pytest.approx(585 + 25 / 0.60, abs=1e-3)  # the prior motion ratio
    assert abs(predicted["value"] - 630) <= predicted["plus_minus"]  # measured: 630 mm; common practice


def test_a_measured_motion_ratio_of_0_56_meets_the_measured_droop():
    stations = (
        Station("full_droop", Reading(585), Reading(300)),
        Station("bump_contact", None, Reading(220)),
    )
    measured = AxleEnvelope("wishbone_coilover", Travel(stations, motion_ratio=Reading(25 / 45)))
    build = assemble(compile_axle(measured, None, "front", STANDARD), [ProposedPart(SPACER)])
    droop = evaluate([build]).record(0)["positions"][0]["arch_to_hub_mm"]["value"]
    assert droop == pytest.approx(630.0, abs=1e-3)  # 45 mm of wheel for 25 mm of strut; common practice


@pytest.mark.parametrize("joint", JOINTS)
def test_joints_past_the_factory_droop_are_undetermined_and_say_what_to_measure(joint):
    record = record_with(SPACER)
    assert check(record, joint)["outcome"] == "undetermined"
    needed = [m for m in record["missing"] if joint in m["needed_for"]]
    assert f"/axle/limits/{joint}" in [m["field"] for m in needed]
    assert all("arch mark" in m["how_to_measure"] for m in needed if "limits" in m["field"])
    assert "/axle/travel/motion_ratio" in [m["field"] for m in needed]


def test_the_vehicle_as_it_left_the_factory_is_settled_by_its_own_example():
    record = record_with()
    assert record["verdict"] == "clear"
    assert {check(record, joint)["outcome"] for joint in JOINTS} == {"clear"}
