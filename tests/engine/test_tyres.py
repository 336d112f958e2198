"""Other tyres: half of the growth in diameter and all of that in width come off the taped gap (common practice)."""

from dataclasses import replace

import pytest
from beam_axles import BEAMS, COIL, LEAF
from beam_by_hand import Beam, Curve
from hypothesis import given
from known_readings import with_datum, without, without_below
from reference_axles import WISHBONE, checks_of, part_of
from strategies import checked, halves
from surveyed_axles import WISHBONE as SURVEYED
from test_properties import severity

from service.engine import Reading
from service.engine.parts import BumpStop, BumpStopSpacer, Tyre

WRITTEN_MM = 1.01e-4


def tyre(diameter: float, width: float) -> Tyre:
    return part_of(Tyre, overall_diameter_mm=diameter, section_width_mm=width)


def gap_at(layout: str, h: float) -> float:
    stations = BEAMS[layout].envelope.travel.stations
    return Curve([(s.arch_to_hub_mm.value, s.tyre_gap_mm.value) for s in stations]).at(h)


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
@checked
@given(diameter=halves(730, 860), width=halves(225, 305), stop=halves(0, 30))
def test_the_gap_at_the_upper_wheel_of_an_articulated_beam(layout, diameter, width, stop):
    """Its wheel is pushed further up than at full bump of both: there the gap is least."""
    parts = [tyre(diameter, width), *([part_of(BumpStopSpacer, thickness_mm=stop)] if stop else [])]
    hand = Beam(BEAMS[layout], stop_spacer=stop)
    taller, wider = 0.5 * (diameter - 752.0), width - 245.0
    larger = max(taller, 0.0) + max(wider, 0.0)
    taken = larger if larger > 0.0 else max(taller, wider)
    left = min(gap_at(layout, h) - taken for h in (hand.bump()[1], hand.articulated()[1]))
    told = checks_of(BEAMS[layout].record(parts))["tyre_clearance"]
    assert told["margin"] == pytest.approx(left, abs=WRITTEN_MM)
    assert told["outcome"] == "unsafe" if left < -WRITTEN_MM else told["outcome"] in ("clear", "marginal")
    assert told["required"]


@pytest.mark.parametrize("axle", [LEAF, WISHBONE, SURVEYED], ids=["leaf", "taped wishbone", "surveyed"])
def test_a_larger_tyre_whose_gap_nobody_taped(axle):
    untaped = without_below(axle, *(f"/travel/stations/{i}/tyre_gap_mm" for i in range(4)))
    untaped = with_datum(untaped, "/fitted/tyre", tyre(752, 245))
    record = untaped.record([tyre(790, 255)])
    assert checks_of(record)["tyre_clearance"]["outcome"] == "undetermined"
    assert any("tyre_clearance" in missing["needed_for"] for missing in record["missing"])
    assert checks_of(untaped.record([tyre(752, 245)]))["tyre_clearance"]["outcome"] != "unsafe"
    assert checks_of(untaped.record([tyre(730, 235)]))["tyre_clearance"]["outcome"] == "clear"


@pytest.mark.parametrize(("diameter", "width"), [(852, 205), (660, 290)])
def test_what_a_tyre_has_less_of_makes_up_for_nothing(diameter, width):
    """Narrower does not help where the crown meets the body, nor lower where the shoulder does."""
    grown = [tyre(max(diameter, 752), max(width, 245)), tyre(diameter, width)]
    alike, told = (checks_of(COIL.record([each]))["tyre_clearance"] for each in grown)
    assert told["outcome"] == "unsafe"
    assert told["margin"] == pytest.approx(alike["margin"], abs=WRITTEN_MM)


def test_a_smaller_but_wider_tyre_whose_gap_nobody_taped_is_not_clear():
    """Lower at the crown does not help where the shoulder meets the body."""
    untaped = without_below(LEAF, *(f"/travel/stations/{i}/tyre_gap_mm" for i in range(4)))
    assert checks_of(untaped.record([tyre(660, 270)]))["tyre_clearance"]["outcome"] == "undetermined"


@pytest.mark.parametrize(("stop", "outcome"), [(None, "clear"), ((50, 15), "undetermined")])
def test_a_gap_that_was_taped_at_one_place_alone_is_not_forgotten(stop, outcome):
    """It gives no curve; where the wheel rises further than the factory's what is left of it cannot be told."""
    once = without_below(LEAF, *(f"/travel/stations/{i}/tyre_gap_mm" for i in (0, 1, 3)))
    parts = [] if stop is None else [part_of(BumpStop, free_height_mm=stop[0], crushed_height_mm=stop[1])]
    record = once.record(parts)
    assert checks_of(record)["tyre_clearance"]["outcome"] == outcome
    asked = [missing for missing in record["missing"] if "tyre_clearance" in missing["needed_for"]]
    assert bool(asked) == (outcome == "undetermined")


@pytest.mark.parametrize(
    ("stop", "outcome"), [((50, 20), "undetermined"), ((58, 28), "not_applicable"), ((66, 36), "not_applicable")]
)
@pytest.mark.parametrize("layout", BEAMS)
def test_a_stop_that_lets_the_wheel_rise_further_asks_for_the_gap_of_the_factorys_tyre(layout, stop, outcome):
    fitted = BEAMS[layout].envelope.fitted.bump_stop
    untaped = without_below(BEAMS[layout], *(f"/travel/stations/{i}/tyre_gap_mm" for i in range(4)))
    more = stop[0] - 58.0
    free, crushed = fitted.free_height_mm.value + more, fitted.crushed_height_mm.value + more
    record = untaped.record([part_of(BumpStop, free_height_mm=free, crushed_height_mm=crushed)])
    assert checks_of(record)["tyre_clearance"]["outcome"] == outcome
    asked = [missing["field"] for missing in record["missing"] if "tyre_clearance" in missing["needed_for"]]
    assert asked == (["/axle/travel/stations"] if outcome == "undetermined" else [])


@pytest.mark.parametrize("known", [None, Tyre()], ids=["nothing", "that it has one"])
def test_a_tyre_on_an_axle_whose_own_tyre_is_not_known(known):
    unknown = with_datum(LEAF, "/fitted/tyre", known)
    record = unknown.record([tyre(790, 255)])
    assert checks_of(record)["tyre_clearance"]["outcome"] == "undetermined"
    wanted = {missing["field"] for missing in record["missing"]}
    assert {"/axle/fitted/tyre/overall_diameter_mm", "/axle/fitted/tyre/section_width_mm"} <= wanted


def test_no_tyre_and_no_gap_is_not_applicable():
    assert checks_of(WISHBONE.record())["tyre_clearance"]["outcome"] == "not_applicable"


def test_the_factorys_tyre_with_a_stop_that_nobody_measured():
    """Where full bump lies is not known, but the build is the factory's."""
    axle = without(without_below(LEAF, "/fitted/bump_stop"), "/spring_base_mm")
    assert checks_of(axle.record())["tyre_clearance"]["outcome"] == "clear"


@checked
@given(halves(740, 850), halves(1, 40), halves(235, 285))
def test_a_larger_tyre_is_never_milder(diameter, more, width):
    small, large = (checks_of(LEAF.record([tyre(d, width)]))["tyre_clearance"] for d in (diameter, diameter + more))
    assert severity(large["outcome"]) >= severity(small["outcome"])
    lost = small["margin"] - large["margin"]
    assert -WRITTEN_MM <= lost <= 0.5 * more + 2 * WRITTEN_MM
    if diameter >= 752.0:
        assert lost == pytest.approx(0.5 * more, abs=2 * WRITTEN_MM)


def test_a_gap_that_widens_towards_bump():
    """A tyre may turn away from the body on its way up; the curve follows it, also past the stations."""
    stations = tuple(
        replace(s, tyre_gap_mm=Reading(gap))
        for s, gap in zip(LEAF.envelope.travel.stations, (60.0, 80.0, 95.0, 100.0), strict=True)
    )
    axle = with_datum(LEAF, "/travel/stations", stations)
    assert checks_of(axle.record([tyre(790, 255)]))["tyre_clearance"]["outcome"] == "clear"
