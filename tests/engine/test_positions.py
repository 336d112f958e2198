"""The four positions, the ride and the first hard contact, against the same by hand."""

from dataclasses import replace

import numpy as np
import pytest
from as_computed import first_order
from by_hand import ByHand
from hypothesis import assume, example, given
from hypothesis import strategies as st
from known_readings import axle_readings, with_datum, without, without_below
from reference_axles import REFERENCES, WISHBONE, TapedAxle, checks_of, part_of, station
from strategies import checked, halves, progressive, springs

from service.engine import Load, LoadItem, Reading, evaluate
from service.engine.parts import (
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    DifferentialSpacer,
    LimitStrap,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
)

CLOSE_MM, CLOSE_N = 1e-6, 1e-3
WRITTEN_MM = 1.01e-4
"""A record is rounded to 1e-4."""


def agree(build, hand: ByHand) -> None:
    """Every position of a build, and where it first gets hard, against the same by hand."""
    computed = first_order(build)
    contact, bump = hand.bump()
    heights = {"full_droop": hand.full_droop(), "ride": hand.ride(), "bump_contact": contact, "full_bump": bump}
    for at, h in heights.items():
        assert computed[f"arch_to_hub_mm at {at}"][0] == pytest.approx(h, abs=CLOSE_MM), at
        assert computed[f"seat_gap_mm at {at}"][0] == pytest.approx(hand.gap(h), abs=CLOSE_MM), at
        assert computed[f"damper_length_mm at {at}"][0] == pytest.approx(hand.length(h), abs=CLOSE_MM), at
        assert computed[f"motion_ratio at {at}"][0] == pytest.approx(hand.ratio(h), abs=CLOSE_MM), at
        assert computed[f"spring_force_n at {at}"][0] == pytest.approx(hand.spring_force(h), abs=CLOSE_N), at
    assert computed["lift_mm"][0] == pytest.approx(heights["ride"] - hand.points["ride"][0], abs=CLOSE_MM)
    by, height = hand.hard_contact()
    told = evaluate([build]).record(0)["first_hard_contact"]
    assert told["by"] == by
    assert told["arch_to_hub_mm"]["value"] == pytest.approx(height, abs=WRITTEN_MM)


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("stations", [2, 3, 4])
def test_the_factory_axle(layout, stations):
    axle = REFERENCES[layout]
    kept = axle.envelope.travel.stations[:stations] if stations > 2 else axle.envelope.travel.stations[:3:2]
    if stations == 2:  # the ride is on the line then, but nobody taped it
        kept = (*kept, station("ride", axle.envelope.travel.stations[1].arch_to_hub_mm.value))
    axle = axle._replace(envelope=replace(axle.envelope, travel=replace(axle.envelope.travel, stations=kept)))
    if stations == 2:
        straight = axle._replace(
            envelope=replace(axle.envelope, travel=replace(axle.envelope.travel, stations=kept[:2]))
        )
        hand = ByHand(straight)
        hand.points["ride"] = (kept[2].arch_to_hub_mm.value, hand.gap0(kept[2].arch_to_hub_mm.value))
        contact, bump = hand.bump()
        placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in axle.record()["positions"]}
        assert placed["full_bump"] == pytest.approx(bump, abs=WRITTEN_MM)
        assert placed["bump_contact"] == pytest.approx(contact, abs=WRITTEN_MM)
        assert placed["full_droop"] == pytest.approx(hand.full_droop(), abs=WRITTEN_MM)
        return
    agree(axle.build(), ByHand(axle))


@pytest.mark.parametrize("layout", REFERENCES)
@checked
@given(top=halves(0, 45), seat=halves(0, 30), stop=halves(0, 25))
@example(top=25.0, seat=0.0, stop=0.0)
@example(top=0.0, seat=20.0, stop=0.0)
@example(top=0.0, seat=0.0, stop=25.0)
def test_spacers(layout, top, seat, stop):
    axle = REFERENCES[layout]
    spacers = ((StrutTopSpacer, top), (SpringSpacer, seat), (BumpStopSpacer, stop))
    parts = [part_of(kind, thickness_mm=t) for kind, t in spacers if t]
    agree(axle.build(parts), ByHand(axle, top, seat, stop))


@pytest.mark.parametrize("layout", REFERENCES)
@checked
@given(
    spring=springs(325.0, 190.0),
    top=halves(0, 30),
    load=st.tuples(halves(0.5, 200), halves(-900, 4000)),
    crew=halves(0, 300),
)
def test_new_springs_under_load(layout, spring, top, load, crew):
    axle = REFERENCES[layout]
    spring = replace(spring, ends=None, forming=None)
    mass, place = load
    carried = Load((LoadItem(Reading(mass), Reading(place)),), Reading(crew))
    added = mass * (1.0 - place / axle.masses.wheelbase_mm.value) + crew * 0.5
    parts = [spring, *([part_of(StrutTopSpacer, thickness_mm=top)] if top else [])]
    hand = ByHand(axle, top, spring=spring, added_kg=added)
    assume(hand.rides_free())
    agree(axle.build(parts, carried), hand)


@pytest.mark.parametrize("layout", REFERENCES)
@checked
@given(data=st.data(), seat=halves(0, 30))
def test_progressive_springs(layout, data, seat):
    axle = REFERENCES[layout]
    spring = data.draw(progressive(replace(data.draw(springs(325.0, 190.0)), ends=None, forming=None)))
    parts = [spring, *([part_of(SpringSpacer, thickness_mm=seat)] if seat else [])]
    hand = ByHand(axle, seat_spacer=seat, spring=spring)
    assume(hand.rides_free())
    agree(axle.build(parts), hand)


STEEP = ((0.0, 0.0), (120.0, 2400.0), (121.0, 7000.0), (123.0, 7040.0), (124.0, 9500.0), (200.0, 11000.0))
"""Soft, then hard, then soft: such a table comes from a press that stuck. The balance lies on a hard stretch."""


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("free_length", np.arange(362.5, 400.0, 7.5))
def test_springs_whose_rate_rises_and_falls(layout, free_length):
    spring = part_of(CoilSpring, wire_mm=12, total_coils=8, free_length_mm=free_length, force_table=STEEP)
    axle = REFERENCES[layout]
    agree(axle.build([spring]), ByHand(axle, spring=spring))


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("longer", [-20, -4, 15, 30])
@pytest.mark.parametrize("offset", [-8, 0, 12])
def test_new_struts(layout, longer, offset):
    axle = REFERENCES[layout]
    old = axle.envelope.fitted.strut
    strut = part_of(
        Strut,
        extended_length_mm=old.extended_length_mm.value + longer,
        closed_length_mm=old.closed_length_mm.value + 6,
        seat_offset_mm=old.seat_offset_mm.value + offset,
        gas_force_n=400,
    )
    agree(axle.build([strut]), ByHand(axle, strut=strut))


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize(("free", "crushed"), [(50, 22), (58, 35), (75, 30)])
def test_new_bump_stops(layout, free, crushed):
    axle, stop = REFERENCES[layout], part_of(BumpStop, free_height_mm=free, crushed_height_mm=crushed)
    agree(axle.build([stop]), ByHand(axle, stop=stop))
    both = [stop, part_of(BumpStopSpacer, thickness_mm=7)]
    agree(axle.build(both), ByHand(axle, stop=stop, stop_spacer=7.0))


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("short", [40, 15, 5, -30])
def test_a_limit_strap_ends_the_droop_where_it_is_shorter_than_the_strut(layout, short):
    axle = REFERENCES[layout]
    strap = axle.envelope.travel.stations[0].arch_to_hub_mm.value - short
    build = axle.build([part_of(LimitStrap, max_arch_to_hub_mm=strap)])
    agree(build, ByHand(axle, strap=strap))
    assert (first_order(build)["arch_to_hub_mm at full_droop"][0] == strap) == (short > 0)


@pytest.mark.parametrize("layout", REFERENCES)
def test_a_strap_shorter_than_ride_holds_the_wheel_up(layout):
    axle = REFERENCES[layout]
    strap = axle.envelope.travel.stations[1].arch_to_hub_mm.value - 12.0
    record = axle.record([part_of(LimitStrap, max_arch_to_hub_mm=strap)])
    placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"]}
    assert placed["ride"] == placed["full_droop"] == strap
    assert checks_of(record)["droop_travel_left"]["outcome"] == "marginal"
    assert record["verdict"] != "clear"


def extreme(axle: TapedAxle, rate: float) -> CoilSpring:
    return replace(axle.envelope.fitted.spring, rate_n_per_mm=Reading(rate))


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("balance_off_kg", [-6.0, 0.0, 6.0])
def test_a_spring_too_weak_rests_on_the_stop(layout, balance_off_kg):
    """Also where scales and spring do not quite agree about the factory's ride."""
    axle = REFERENCES[layout]
    kerb = axle.masses.front_axle_kg.value + balance_off_kg
    axle = with_datum(axle, "/vehicle_masses/front_axle_kg", Reading(kerb))
    record = axle.record([extreme(axle, 8.0)])
    placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"]}
    assert placed["ride"] == placed["bump_contact"]
    assert checks_of(record)["bump_travel_left"]["outcome"] == "marginal"


@pytest.mark.parametrize("layout", REFERENCES)
@pytest.mark.parametrize("balance_off_kg", [-6.0, 0.0, 6.0])
def test_a_spring_too_strong_holds_the_strut_out(layout, balance_off_kg):
    axle = REFERENCES[layout]
    kerb = axle.masses.front_axle_kg.value + balance_off_kg
    axle = with_datum(axle, "/vehicle_masses/front_axle_kg", Reading(kerb))
    record = axle.record([extreme(axle, 600.0)])
    placed = {p["at"]: p["arch_to_hub_mm"]["value"] for p in record["positions"]}
    assert placed["ride"] == placed["full_droop"]
    assert checks_of(record)["droop_travel_left"]["margin"] == pytest.approx(-66.0)


@pytest.mark.parametrize("layout", REFERENCES)
def test_a_wheel_rides_where_it_rides_also_if_nobody_knows_how_far_it_drops(layout):
    axle = REFERENCES[layout]
    spring = extreme(axle, 1.08 * axle.envelope.fitted.spring.rate_n_per_mm.value)
    sparse = without_below(axle, "/travel/stations/0", "/fitted/strut/extended_length_mm")
    whole, partial = axle.record([spring]), sparse.record([spring])
    assert partial["positions"][0]["arch_to_hub_mm"] is None
    assert partial["lift_mm"] is not None
    assert partial["lift_mm"]["value"] == pytest.approx(
        whole["lift_mm"]["value"], abs=2.0
    )  # the curve ends at ride now


def test_a_differential_spacer_gives_its_drop_to_the_inner_joint_alone():
    drop = checks_of(WISHBONE.record([part_of(DifferentialSpacer, drop_mm=25)]))
    factory = checks_of(WISHBONE.record())
    assert drop["inner_cv"]["margin"] == pytest.approx(factory["inner_cv"]["margin"] + 25.0)
    assert drop["outer_cv"] == factory["outer_cv"]
    measured = part_of(DifferentialSpacer, drop_mm=25, inner_cv_reached_at_arch_to_hub_mm=659)
    assert checks_of(WISHBONE.record([measured]))["inner_cv"]["margin"] == pytest.approx(659.0 - 628.0)


@pytest.mark.parametrize("layout", REFERENCES)
def test_two_spacers_are_as_thick_as_both(layout):
    axle = REFERENCES[layout]
    pair = axle.build([(part_of(StrutTopSpacer, thickness_mm=8), 2)])
    agree(pair, ByHand(axle, top=16.0))
    stacked = axle.build([part_of(StrutTopSpacer, thickness_mm=6), part_of(StrutTopSpacer, thickness_mm=10)])
    agree(stacked, ByHand(axle, top=16.0))


@pytest.mark.parametrize("layout", REFERENCES)
def test_positions_are_not_compared_with_limits_where_nobody_taped_a_span_with_its_height(layout):
    """Seat gaps at the ends, arch-to-hub at ride alone: how far the wheel hangs in mm from the mark cannot be told."""
    axle = REFERENCES[layout]
    heights = [p for p in axle_readings(axle) if p.endswith("/arch_to_hub_mm") and "/stations/1/" not in p]
    apart = without(axle, *heights, "/travel/stations/1/seat_gap_mm", "/travel/stations/1/damper_length_mm")
    apart = without_below(apart, "/travel/stations/3")
    record = apart.record([part_of(StrutTopSpacer, thickness_mm=20)])
    whole = checks_of(axle.record([part_of(StrutTopSpacer, thickness_mm=20)]))
    for joint in ("lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose"):
        check = checks_of(record)[joint]
        assert check["outcome"] != "clear", (joint, check["margin"])
        if check["margin"] is not None:
            assert check["margin"] == pytest.approx(whole[joint]["margin"], abs=40.0)
