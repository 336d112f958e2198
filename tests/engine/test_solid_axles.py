"""Positions, ride and checks of beam axles on coils and on leaves, against the same by hand."""

from dataclasses import replace

import pytest
from as_computed import first_order
from beam_axles import BEAMS, COIL, LEAF
from beam_by_hand import Beam
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from known_readings import with_datum, without
from reference_axles import checks_of, part_of
from strategies import checked, halves

from service.engine import Load, LoadItem, Reading
from service.engine.parts import (
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    Damper,
    LeafBlock,
    LeafPack,
    LimitStrap,
    Shackle,
    SpringSpacer,
)

CLOSE_MM, WRITTEN_MM = 1e-6, 1.01e-4
few = settings(checked, max_examples=30)


def agree(axle, parts, hand: Beam, load=None) -> None:
    computed, record = first_order(axle.build(parts, load)), axle.record(parts, load)
    contact, bump = hand.bump()
    heights = {"full_droop": hand.full_droop(), "ride": hand.ride(), "bump_contact": contact, "full_bump": bump}
    for at, h in heights.items():
        assert computed[f"arch_to_hub_mm at {at}"][0] == pytest.approx(h, abs=CLOSE_MM), at
        assert computed[f"damper_length_mm at {at}"][0] == pytest.approx(hand.lengths.at(h), abs=CLOSE_MM), at
        if axle.envelope.layout != "wishbone_torsion_bar":
            assert computed[f"seat_gap_mm at {at}"][0] == pytest.approx(hand.gap(h), abs=CLOSE_MM), at
    assert computed["lift_mm"][0] == pytest.approx(heights["ride"] - hand.heights["ride"], abs=CLOSE_MM)
    if axle.envelope.layout != "wishbone_torsion_bar":
        lower, upper = hand.articulated()
        beam = record["positions"][4]
        assert beam["at"] == "articulated"
        assert beam["arch_to_hub_mm"]["value"] == pytest.approx(lower, abs=WRITTEN_MM)
        assert beam["upper_wheel_arch_to_hub_mm"]["value"] == pytest.approx(upper, abs=WRITTEN_MM)
        hose = axle.envelope.limits["brake_hose"].reached_at_arch_to_hub_mm.value
        told = computed["brake_hose articulated at articulated"][0]
        assert told == pytest.approx(hose - lower, abs=CLOSE_MM)
    closed = hand.now.closed_length_mm.value
    assert checks_of(record)["damper_bottoming"]["margin"] == pytest.approx(
        hand.lengths.at(bump) - closed, abs=WRITTEN_MM
    )


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
def test_the_factory_axle(layout):
    axle = BEAMS[layout]
    agree(axle, [], Beam(axle))
    assert axle.record()["verdict"] == "clear", axle.record()["headline"]


@few
@given(seat=halves(0, 40), stop=halves(0, 30))
def test_spacers_on_a_coil_sprung_axle(seat, stop):
    spacers = ((SpringSpacer, seat), (BumpStopSpacer, stop))
    parts = [part_of(kind, thickness_mm=t) for kind, t in spacers if t]
    agree(COIL, parts, Beam(COIL, seat_spacer=seat, stop_spacer=stop))


carried = st.tuples(halves(0.5, 350), halves(-900, 4500), halves(0, 300))


def load_of(axle, mass: float, place: float, crew: float) -> tuple[Load, float]:
    """A load, and what of it the axle carries: by moments, the crew in the middle of the wheelbase."""
    share = place / axle.masses.wheelbase_mm.value
    on_axle = share if axle.end == "rear" else 1.0 - share
    return Load((LoadItem(Reading(mass), Reading(place)),), Reading(crew)), mass * on_axle + crew * 0.5


def rides_free(hand: Beam) -> bool:
    free = hand.heights["ride"] + hand.balance() - hand.factory.balance()
    return hand.bump()[0] + 1.0 < free < hand.full_droop() - 1.0 and hand.bump()[0] < hand.balance() < hand.full_droop()


@few
@given(rate=halves(20, 45), free=halves(360, 430), load=carried, longer=halves(-10, 50))
def test_springs_and_dampers_of_a_coil_sprung_axle_under_load(rate, free, load, longer):
    spring = part_of(CoilSpring, wire_mm=14, total_coils=7, free_length_mm=free, rate_n_per_mm=rate)
    damper = part_of(Damper, extended_length_mm=604 + longer, closed_length_mm=370, gas_force_n=210)
    carries, added = load_of(COIL, *load)
    hand = Beam(COIL, spring=spring, damper=damper, added_kg=added)
    assume(rides_free(hand))
    agree(COIL, [spring, damper], hand, carries)
    record = checks_of(COIL.record([spring, damper], carries))
    assert record["coil_bind"]["margin"] == pytest.approx(hand.gap(hand.bump()[1]) - 98.0, abs=WRITTEN_MM)
    assert record["spring_retention"]["margin"] == pytest.approx(free - hand.gap(hand.full_droop()), abs=WRITTEN_MM)
    mass = COIL.masses.rear_axle_kg.value + added
    assert record["axle_rating"]["value"] == pytest.approx(mass, abs=WRITTEN_MM)
    assert record["axle_rating"]["margin"] == pytest.approx(1820.0 - mass, abs=WRITTEN_MM)


@few
@given(
    block=st.one_of(st.just(0.0), halves(1, 60)),
    longer=halves(-20, 60),
    load=carried,
    damper=st.sampled_from((None, 590.0, 660.0, 720.0)),
)
def test_blocks_and_shackles(block, longer, load, damper):
    parts, options = [], {}
    if block:
        parts.append(part_of(LeafBlock, height_mm=block))
    if longer:
        parts.append(part_of(Shackle, length_mm=98 + longer))
        options["shackle"] = 98 + longer
    if damper:
        options["damper"] = part_of(Damper, extended_length_mm=damper, closed_length_mm=380)
        parts.append(options["damper"])
    carries, added = load_of(LEAF, *load)
    hand = Beam(LEAF, block=block, added_kg=added, **options)
    assume(rides_free(hand))
    agree(LEAF, parts, hand, carries)
    told = checks_of(LEAF.record(parts, carries))
    least = LEAF.envelope.fitted.leaf_pack.free_camber_mm.value - 268.0
    assert told["leaf_over_deflection"]["margin"] == pytest.approx(hand.gap(hand.bump()[1]) - least, abs=WRITTEN_MM)
    hangs = hand.lengths.where(hand.now.extended_length_mm.value) - hand.leaves_hang()
    assert told["damper_topping"]["margin"] == pytest.approx(hangs, abs=WRITTEN_MM)
    assert not told["damper_topping"]["required"]
    if not longer:  # a block lowers the wheel without turning the shackle
        assert told["shackle_past_line"]["margin"] == pytest.approx(705.0 + block - hand.full_droop(), abs=WRITTEN_MM)


@few
@given(rate=halves(28, 60), free=halves(130, 190), deflection=halves(230, 300), load=carried)
def test_another_pack(rate, free, deflection, load):
    pack = part_of(LeafPack, rate_n_per_mm=rate, free_camber_mm=free, max_deflection_mm=deflection)
    carries, added = load_of(LEAF, *load)
    hand = Beam(LEAF, pack=pack, added_kg=added)
    assume(rides_free(hand))
    agree(LEAF, [pack], hand, carries)
    told = checks_of(LEAF.record([pack], carries))
    left = hand.gap(hand.bump()[1]) - (free - deflection)
    assert told["leaf_over_deflection"]["margin"] == pytest.approx(left, abs=WRITTEN_MM)


def test_leaves_carry_what_the_gas_of_the_damper_leaves_them():
    """A gas-filled damper carries a part of the weight: the leaves are bent by as much less at ride."""
    gas = with_datum(LEAF, "/fitted/damper", replace(LEAF.envelope.fitted.damper, gas_force_n=Reading(400.0, 0.0)))
    agree(gas, [], Beam(gas))


def test_a_shackle_states_its_own_line():
    shackle = part_of(Shackle, length_mm=140, reached_at_arch_to_hub_mm=664)
    hand = Beam(LEAF, shackle=140.0)
    told = checks_of(LEAF.record([shackle]))["shackle_past_line"]
    assert told["margin"] == pytest.approx(664.0 - hand.full_droop(), abs=WRITTEN_MM)
    unstated = checks_of(LEAF.record([part_of(Shackle, length_mm=140)]))["shackle_past_line"]
    assert unstated["outcome"] == "undetermined", "the factory shackle's line says nothing of a longer one"


def test_a_block_in_place_of_a_block():
    with_block = with_datum(LEAF, "/fitted/leaf_block", part_of(LeafBlock, height_mm=25))
    lift = with_block.record([part_of(LeafBlock, height_mm=60)])["lift_mm"]["value"]
    assert lift == pytest.approx(35.0, abs=1e-3)
    lower = with_block.record([part_of(LeafBlock, height_mm=10)])["lift_mm"]["value"]
    assert lower == pytest.approx(-15.0, abs=1e-3)


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
@pytest.mark.parametrize(("free", "crushed", "spacer"), [(70, 30, 0), (50, 25, 12)])
def test_stops_and_straps(layout, free, crushed, spacer):
    axle, stop = BEAMS[layout], part_of(BumpStop, free_height_mm=free, crushed_height_mm=crushed)
    parts = [stop, part_of(LimitStrap, max_arch_to_hub_mm=600)]
    parts += [part_of(BumpStopSpacer, thickness_mm=spacer)] if spacer else []
    agree(axle, parts, Beam(axle, stop=stop, stop_spacer=float(spacer), strap=600.0))


def test_a_coil_that_leaves_its_seat_is_told():
    """A long damper lets the axle drop past the coil's free length."""
    damper = part_of(Damper, extended_length_mm=690, closed_length_mm=370)
    hand = Beam(COIL, damper=damper)
    told = checks_of(COIL.record([damper]))["spring_retention"]
    assert told["margin"] == pytest.approx(382.0 - hand.gap(hand.full_droop()), abs=WRITTEN_MM)
    assert (told["outcome"], told["required"]) == ("unsafe", True)


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
@pytest.mark.parametrize("unknown", ["/spring_base_mm", "/track_mm"])
def test_no_articulation_without_track_and_spring_base(layout, unknown):
    record = without(BEAMS[layout], unknown).record()
    assert [p["at"] for p in record["positions"]] == ["full_droop", "ride", "bump_contact", "full_bump"]
    hose = checks_of(record)["brake_hose"]
    assert (hose["at"], hose["outcome"]) == ("full_droop", "clear")
    said = [each for each in record["assumptions"] if "both wheels at the same height" in each]
    assert len(said) == 1
    assert not set(said) & set(BEAMS[layout].record()["assumptions"])


def test_an_overland_load_goes_to_the_rear_axle():
    """350 kg 3,700 mm behind the front axle of a 3,140 mm wheelbase put 412 kg on the rear axle."""
    load, added = load_of(LEAF, 350.0, 3700.0, 0.0)
    told = checks_of(LEAF.record([], load))
    assert added == pytest.approx(350.0 * 3700.0 / 3140.0)
    assert told["axle_rating"]["details"]["added_on_this_axle_kg"] == pytest.approx(added, abs=1e-3)
    front = replace(LEAF.masses, rear_axle_rating_kg=Reading(935.0 + added - 1.0))
    assert checks_of(LEAF._replace(masses=front).record([], load))["axle_rating"]["outcome"] == "unsafe"


@pytest.mark.parametrize("layout", ["solid_axle_coil", "solid_axle_leaf"])
def test_the_hose_is_told_where_it_has_least_to_spare(layout):
    """With the other wheel pushed up the lower one hangs lower than at full droop: the hose's tightest place."""
    hose = checks_of(BEAMS[layout].record())["brake_hose"]
    assert hose["margin"] == pytest.approx(735.0 - Beam(BEAMS[layout]).articulated()[0], abs=WRITTEN_MM)
    assert hose["at"] == "articulated"
