"""What must hold of every build on a beam axle or a torsion-bar axle, whatever is known of it."""

import json
from dataclasses import replace

import pytest
from beam_axles import BEAMS, COIL, LEAF
from hypothesis import example, given, settings
from hypothesis import strategies as st
from known_readings import axle_readings, with_datum, without, without_below
from reference_axles import checks_of, part_of, proposed
from strategies import bump_stops, checked, halves, spacer_of
from test_properties import assert_same, half_width_raised, milder, severity

from service.engine import STANDARD, Load, LoadItem, Reading, assemble, compile_axle, evaluate
from service.engine.parts import (
    BumpStopSpacer,
    CoilSpring,
    Damper,
    LeafBlock,
    LeafPack,
    LimitStrap,
    Shackle,
    SpringSpacer,
    TorsionBar,
    Tyre,
)

few = settings(checked, max_examples=25)


def bar(diameter, cranked) -> TorsionBar:
    return part_of(
        TorsionBar, diameter_mm=diameter, active_length_mm=1180, arm_length_mm=385, shear_modulus_mpa=78_500,
        permissible_stress_mpa=850, adjusted_ride_arch_to_hub_mm=cranked,
    )  # fmt: skip


ANYWHERE = {
    "stop": bump_stops(),
    "stop_spacer": halves(2, 30).map(spacer_of(BumpStopSpacer)),
    "strap": halves(560, 660).map(lambda h: part_of(LimitStrap, max_arch_to_hub_mm=h)),
    "tyre": st.builds(
        lambda d, w: part_of(Tyre, overall_diameter_mm=d, section_width_mm=w), halves(730, 840), halves(225, 285)
    ),
    "damper": halves(-15, 90).map(lambda x: part_of(Damper, extended_length_mm=610 + x, closed_length_mm=375)),
}
KINDS = {
    "solid_axle_coil": ANYWHERE
    | {
        "seat": halves(2, 40).map(spacer_of(SpringSpacer)),
        "spring": st.builds(
            lambda rate, free: part_of(
                CoilSpring, wire_mm=14, total_coils=7, free_length_mm=free, rate_n_per_mm=rate
            ),
            halves(20, 50), halves(350, 430),
        ),
    },
    "solid_axle_leaf": ANYWHERE
    | {
        "block": halves(5, 80).map(lambda h: part_of(LeafBlock, height_mm=h)),
        "shackle": st.builds(
            lambda length, line: part_of(Shackle, length_mm=length, reached_at_arch_to_hub_mm=line),
            halves(80, 160), st.one_of(st.none(), halves(660, 720)),
        ),
        "pack": st.builds(
            lambda rate, free, most: part_of(
                LeafPack, rate_n_per_mm=rate, free_camber_mm=free, max_deflection_mm=most
            ),
            halves(25, 60), halves(120, 200), st.one_of(halves(220, 300)),
        ),
    },
    "wishbone_torsion_bar": {
        **ANYWHERE,
        "damper": halves(-10, 60).map(lambda x: part_of(Damper, extended_length_mm=424 + x, closed_length_mm=290)),
        "bar": st.builds(bar, halves(25, 33), st.one_of(st.none(), halves(500, 620))),
    },
}  # fmt: skip


@st.composite
def builds(draw, layout: str) -> list:
    kinds = KINDS[layout]
    return [draw(kinds[name]) for name in draw(st.lists(st.sampled_from(sorted(kinds)), unique=True, max_size=4))]


@st.composite
def proposals(draw):
    layout = draw(st.sampled_from(tuple(BEAMS)))
    items = draw(st.lists(st.tuples(halves(5, 300), halves(-900, 4500)), max_size=2))
    load = Load(tuple(LoadItem(Reading(mass), Reading(place)) for mass, place in items))
    return layout, draw(builds(layout)), load


layouts = st.sampled_from(tuple(BEAMS))


@st.composite
def sparse(draw):
    axle = BEAMS[draw(layouts)]
    known = sorted(axle_readings(axle))
    keep = {p for p in known if p.startswith("/travel/stations/2/arch")}
    forgotten = draw(st.sets(st.sampled_from(known), max_size=len(known))) - keep
    masses = axle.masses if draw(st.booleans()) else None
    axle = without(axle, *forgotten)
    return axle._replace(masses=masses and axle.masses)


@few
@given(sparse())
@example(LEAF._replace(masses=None))
@example(without_below(COIL, *(f"/travel/stations/{i}/seat_gap_mm" for i in range(4))))
@example(without_below(LEAF, "/fitted/bump_stop"))
@example(without_below(COIL, "/fitted/bump_stop", "/limits"))
@example(without_below(LEAF, "/fitted/damper", "/limits"))
def test_a_build_of_no_parts_is_no_worse_than_the_factory(axle):
    record = axle.record()
    for check in record["checks"]:
        if check["required"] and check["margin"] is None:
            assert check["outcome"] in ("clear", "not_applicable"), (check["check"], check["because"])
    assert record["lift_mm"] in (None, {"value": 0.0, "plus_minus": 0.0})
    json.dumps(record, allow_nan=False)


@few
@given(layouts, st.data())
def test_a_batch_gives_the_single_records(layout, data):
    axle = data.draw(st.sampled_from((BEAMS[layout], without_below(BEAMS[layout], "/fitted/bump_stop"))))
    compiled = compile_axle(*axle, STANDARD)
    made = [assemble(compiled, proposed(data.draw(builds(layout)))) for _ in range(data.draw(st.integers(2, 5)))]
    together = evaluate(made)
    for index, build in enumerate(made):
        assert_same(evaluate([build]).record(0), together.record(index))


def test_an_untaped_damper_beside_the_factorys():
    """How far a beam on another damper of untaped curve articulates is not known; beside a build that is, too."""
    axle = without_below(COIL, *(f"/travel/stations/{i}/damper_length_mm" for i in range(4)))
    compiled = compile_axle(*axle, STANDARD)
    damper = part_of(Damper, extended_length_mm=700, closed_length_mm=375)
    made = [assemble(compiled, proposed(parts)) for parts in ([damper], [])]
    together = evaluate(made)
    for index, build in enumerate(made):
        assert_same(evaluate([build]).record(0), together.record(index))
    tyre = checks_of(together.record(0))["tyre_clearance"]
    assert tyre["outcome"] not in ("clear", "not_applicable"), "the upper wheel may be pushed into the body"


@few
@given(proposals(), st.data())
def test_a_less_certain_reading_is_never_milder(proposal, data):
    layout, parts, load = proposal
    axle = BEAMS[layout]
    readings = {p: r for p, r in axle_readings(axle).items() if isinstance(r, Reading)}
    pointer = data.draw(st.sampled_from(sorted(readings)))
    share = data.draw(st.sampled_from((0.002, 0.01, 0.05, 0.3)))
    vaguer = with_datum(axle, pointer, half_width_raised(readings[pointer], pointer, share))
    assert not milder(axle.record(parts, load), vaguer.record(parts, load))


@few
@given(proposals(), st.data())
def test_forgetting_one_datum_never_raises_and_never_acquits(proposal, data):
    """What is not known may be settled by the factory's example; by nothing else does a required check get milder."""
    layout, parts, load = proposal
    axle = BEAMS[layout]
    pointer = data.draw(st.sampled_from(sorted(axle_readings(axle))))
    before, after = axle.record(parts, load), without(axle, pointer).record(parts, load)
    json.dumps(after, allow_nan=False)
    if pointer.startswith(("/limits", "/vehicle_masses/rear_axle_rating", "/vehicle_masses/front_axle_rating")):
        by_factory = {c["check"] for c in after["checks"] if any("left the factory" in r["rule"] for r in c["basis"])}
        assert not milder(
            before, after, lambda c: c["required"] and c["outcome"] != "unsafe" and c["check"] not in by_factory
        )
    if pointer in ("/spring_base_mm", "/track_mm"):
        assert severity(after["verdict"]) >= severity("clear")


@few
@given(
    halves(5, 60), halves(1, 30), st.sampled_from(([], [part_of(Damper, extended_length_mm=700, closed_length_mm=375)]))
)
def test_a_thicker_block_is_never_milder(height, more, others):
    thin, thick = (checks_of(LEAF.record([part_of(LeafBlock, height_mm=h), *others])) for h in (height, height + more))
    for name in ("leaf_over_deflection", "brake_hose", "damper_topping"):
        assert severity(thick[name]["outcome"]) >= severity(thin[name]["outcome"]), name
        assert thick[name]["margin"] <= thin[name]["margin"] + 1e-4, name
    assert thin["leaf_over_deflection"]["margin"] - thick["leaf_over_deflection"]["margin"] == pytest.approx(
        more, abs=2e-4
    )


@few
@given(halves(98, 150), halves(1, 20))
def test_a_longer_shackle_without_a_line_of_its_own_is_never_clear(length, more):
    told = checks_of(LEAF.record([part_of(Shackle, length_mm=length + more)]))["shackle_past_line"]
    assert told["outcome"] == "undetermined"


def test_parts_that_belong_elsewhere_are_refused_in_every_layout():
    for layout, axle in BEAMS.items():
        for kind in (SpringSpacer, LeafBlock, TorsionBar):
            fits = {"solid_axle_coil": SpringSpacer, "solid_axle_leaf": LeafBlock, "wishbone_torsion_bar": TorsionBar}
            part = bar(28, None) if kind is TorsionBar else (
                part_of(LeafBlock, height_mm=30) if kind is LeafBlock else part_of(SpringSpacer, thickness_mm=10)
            )  # fmt: skip
            if fits[layout] is kind:
                assert axle.record([part])["verdict"]
            else:
                with pytest.raises(ValueError, match="does not belong"):
                    axle.record([part])


def test_a_pack_that_says_nothing_of_its_greatest_deflection_is_undetermined():
    pack = replace(LEAF.envelope.fitted.leaf_pack, max_deflection_mm=None)
    axle = with_datum(LEAF, "/fitted/leaf_pack", pack)
    assert checks_of(axle.record())["leaf_over_deflection"]["outcome"] == "clear"
    told = checks_of(axle.record([part_of(LeafBlock, height_mm=30)]))["leaf_over_deflection"]
    assert told["outcome"] == "undetermined"
    longer = axle.record([part_of(BumpStopSpacer, thickness_mm=40), part_of(LeafBlock, height_mm=30)])
    assert checks_of(longer)["leaf_over_deflection"]["outcome"] == "clear", "a taller stop bends them less than ever"
