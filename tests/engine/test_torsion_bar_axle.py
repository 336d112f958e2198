"""A torsion-bar front end: positions, the adjuster, the balance and the bar's stress, against the same by hand."""

from dataclasses import replace
from math import pi

import pytest
from as_computed import first_order
from beam_axles import BAR
from beam_by_hand import Beam
from hypothesis import assume, given
from hypothesis import strategies as st
from known_readings import with_datum
from reference_axles import checks_of, part_of
from strategies import halves
from test_solid_axles import WRITTEN_MM, agree, few, load_of, rides_free

from service.engine import Reading
from service.engine.parts import BumpStopSpacer, Damper, TorsionBar

FACTORY = BAR.envelope.fitted.torsion_bar


def bar(**changes) -> TorsionBar:
    return replace(FACTORY, **{name: Reading(float(value)) for name, value in changes.items()})


def stress(hand: Beam) -> float:
    diameter = (hand.bar or FACTORY).diameter_mm.value
    return 16.0 * hand.torque(hand.bump()[1]) / (pi * diameter**3)


def test_the_factory_axle():
    agree(BAR, [], Beam(BAR))
    record = BAR.record()
    assert record["verdict"] == "clear", record["headline"]
    assert checks_of(record)["bar_stress"]["value"] == pytest.approx(stress(Beam(BAR)), abs=1e-3)


@few
@given(cranked=halves(510, 590), mass=halves(0.5, 150), place=halves(-800, 1500))
def test_the_adjuster_moves_ride_and_neither_droop_nor_bump(cranked, mass, place):
    part = bar(adjusted_ride_arch_to_hub_mm=cranked)
    load, added = load_of(BAR, mass, place, 0.0)
    hand = Beam(BAR, bar=part, added_kg=added)
    agree(BAR, [part], hand, load)
    told, factory = checks_of(BAR.record([part], load)), Beam(BAR)
    assert told["bar_stress"]["value"] == pytest.approx(stress(hand), abs=1e-3)
    assert told["bar_stress"]["margin"] == pytest.approx(850.0 - stress(hand), abs=1e-3)
    left = 100.0 * (factory.full_droop() - cranked) / (factory.full_droop() - 526.0)
    assert told["droop_travel_left"]["value"] == pytest.approx(left, abs=1e-3)
    assert (hand.full_droop(), hand.bump()) == (factory.full_droop(), factory.bump())


@few
@given(
    diameter=halves(26, 32),
    length=halves(1050, 1300),
    load=st.tuples(halves(0.5, 200), halves(-900, 1500), halves(0, 200)),
    stop=halves(0, 15),
)
def test_another_bar_under_load(diameter, length, load, stop):
    part = bar(diameter_mm=diameter, active_length_mm=length)
    carries, added = load_of(BAR, *load)
    hand = Beam(BAR, bar=part, added_kg=added, stop_spacer=stop)
    assume(rides_free(hand))
    parts = [part, *([part_of(BumpStopSpacer, thickness_mm=stop)] if stop else [])]
    agree(BAR, parts, hand, carries)
    assert checks_of(BAR.record(parts, carries))["bar_stress"]["value"] == pytest.approx(stress(hand), abs=1e-3)


@pytest.mark.parametrize("longer", [-15, 10, 30])
def test_another_damper(longer):
    damper = part_of(Damper, extended_length_mm=424 + longer, closed_length_mm=290, gas_force_n=260)
    hand = Beam(BAR, damper=damper)
    agree(BAR, [damper], hand)
    for joint in ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose"):
        told = next(
            p["joints"][joint]["margin_mm"]["value"]
            for p in BAR.record([damper])["positions"]
            if p["at"] == "full_droop"
        )
        assert told == pytest.approx(632.0 - hand.full_droop(), abs=WRITTEN_MM), joint


@pytest.mark.parametrize("cranked", [640.0, 430.0])
def test_a_bar_that_is_set_past_the_ends_of_the_travel_holds_the_wheel_there(cranked):
    record = BAR.record([bar(adjusted_ride_arch_to_hub_mm=cranked)])
    placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"]}
    assert placed["ride"] == (placed["full_droop"] if cranked > 600.0 else placed["bump_contact"])
    assert record["verdict"] != "clear"


def test_a_factory_bar_whose_setting_was_noted_is_the_factory():
    """A note of what the adjuster was set to, 6 mm off what was taped at ride, lifts nothing by itself."""
    noted = with_datum(BAR, "/fitted/torsion_bar/adjusted_ride_arch_to_hub_mm", Reading(532.0))
    assert noted.record()["lift_mm"] == {"value": 0.0, "plus_minus": 0.0}


def test_the_ride_of_the_same_bar_needs_no_arm():
    """No parts: the wheel rides where it was taped, whatever the bar is made of."""
    computed = first_order(BAR.build())
    assert computed["arch_to_hub_mm at ride"][0] == 526.0
    assert computed["lift_mm"] == (0.0, 0.0)
