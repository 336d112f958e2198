"""Every remedy mends its check, and one step less of it does not; what it costs is what the engine says."""

from dataclasses import replace
from math import sqrt

import pytest
from beam_axles import BEAMS
from hypothesis import given
from reference_axles import REFERENCES, WISHBONE, part_of, proposed
from scipy.optimize import brentq
from straight_axle import STRAIGHT, computed, readings
from strategies import checked, proposals
from surveyed_axles import SURVEYED
from uncertainties import ufloat

from service.engine import Load, LoadItem, Reading, RefusedError, assemble, evaluate
from service.engine.parts import (
    BumpStopSpacer,
    CoilSpring,
    Damper,
    LeafBlock,
    LimitStrap,
    Shackle,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    Tyre,
)
from service.engine.remedies import failing, is_costly, remedies
from service.engine.remedies.changed_build import with_part

HEAVY = Load((LoadItem(Reading(340.0), Reading(-640.0), "winch"), LoadItem(Reading(90.0), Reading(600.0), "box")))
TOP = part_of(StrutTopSpacer, thickness_mm=35)


def longer(taped, slot, **by):
    part = getattr(taped.envelope.fitted, slot)
    return replace(part, **{name: Reading(getattr(part, name).value + more) for name, more in by.items()})


TWO_SPACERS = (part_of(StrutTopSpacer, thickness_mm=15), 2)
COIL, LEAF, BAR = (BEAMS[layout] for layout in ("solid_axle_coil", "solid_axle_leaf", "wishbone_torsion_bar"))
LEAF_PARTS = [part_of(LeafBlock, height_mm=90), part_of(Shackle, length_mm=180)]
UNSAFE = {
    "top spacer": (WISHBONE, [TOP], None),
    "two spacers and a shim": (WISHBONE, [TWO_SPACERS, part_of(BumpStopSpacer, thickness_mm=4)], None),
    "preload": (WISHBONE, [part_of(SpringSpacer, thickness_mm=40)], None),
    "long strut": (WISHBONE, [longer(WISHBONE, "strut", extended_length_mm=35, closed_length_mm=25)], None),
    "short spring": (WISHBONE, [longer(WISHBONE, "spring", free_length_mm=-75)], None),
    "heavy front": (WISHBONE, [], HEAVY),
    "everything at once": (WISHBONE, [TOP, part_of(SpringSpacer, thickness_mm=15)], HEAVY),
    "macpherson spacer": (REFERENCES["macpherson"], [TOP], None),
    "beam with tall tyres": (COIL, [part_of(Tyre, overall_diameter_mm=900, section_width_mm=285)], None),
    "beam with long dampers": (COIL, [longer(COIL, "damper", extended_length_mm=120)], None),
    "leaves on blocks": (LEAF, LEAF_PARTS, None),
    "long damper on a bar": (BAR, [longer(BAR, "damper", extended_length_mm=40, closed_length_mm=40)], None),
    "surveyed wishbone": (SURVEYED["wishbone_coilover"], [TOP], None),
    "surveyed macpherson": (SURVEYED["macpherson"], [part_of(StrutTopSpacer, thickness_mm=30)], None),
}


@pytest.fixture(scope="module", params=UNSAFE)
def mended(request):
    """The verdict on a bad build, and its remedies."""
    taped, parts, load = UNSAFE[request.param]
    verdicts = evaluate([taped.build(parts, load)])
    return verdicts, remedies(verdicts, [0])[0]


def outcome_of(build, check):
    return next(each["outcome"] for each in evaluate([build]).record(0)["checks"] if each["check"] == check)


def test_each_failing_check_has_a_remedy_of_its_own(mended):
    verdicts, found = mended
    failed = [check.label.check for check in failing(verdicts, 0)]
    assert failed
    mended_checks = list(dict.fromkeys(remedy.told["check"] for remedy in found))
    assert mended_checks == [check for check in failed if check in mended_checks]
    assert mended_checks[0] == failed[0]


def test_a_remedy_clears_its_check_when_the_build_is_assembled_anew(mended):
    for remedy in mended[1]:
        anew = assembled(remedy.build)
        if anew is not None:
            assert outcome_of(anew, remedy.told["check"]) in ("clear", "not_applicable"), remedy.told


def test_one_step_less_does_not(mended):
    for remedy in mended[1]:
        less = remedy.make(one_step_less(remedy))
        assert outcome_of(less, remedy.told["check"]) not in ("clear", "not_applicable"), remedy.told


def test_what_it_costs_is_what_the_engine_says_of_the_build(mended):
    verdicts, found = mended
    before = verdicts.record(0)
    for remedy in found:
        told, now = remedy.told, evaluate([remedy.build]).record(0)
        assert (told["verdict"], told["action"], told["lift_mm"]) == (now["verdict"], now["action"], now["lift_mm"])
        if before["lift_mm"] and now["lift_mm"]:
            change = now["lift_mm"]["value"] - before["lift_mm"]["value"]
            assert told["lift_change_mm"] == pytest.approx(change, abs=1e-4)
        was, becomes = ({c["check"]: c for c in record["checks"]} for record in (before, now))
        worst = ("not_applicable", "clear", "marginal", "undetermined", "unsafe").index
        for name in told["breaks"]:
            assert worst(becomes[name]["outcome"]) > max(1, worst(was[name]["outcome"]))
        for worse in told["worsens"]:
            assert (worse["was"], worse["becomes"]) == (
                was[worse["check"]]["outcome"],
                becomes[worse["check"]]["outcome"],
            )
        told_of = {told["check"], *(worse["check"] for worse in told["worsens"])}
        for name in was.keys() & becomes.keys() - told_of:
            margins = was[name]["margin"], becomes[name]["margin"]
            if None not in margins and was[name]["quantity"] == becomes[name]["quantity"]:
                assert margins[1] >= margins[0] - 0.051


def assembled(build):
    """The same build made from its parts; none where its change is of the axle's own limits."""
    own = {name for name in build.slots if name.startswith(("limit_", "bump_limit_", "angle_limit_", "plunge_limit_"))}
    parts = [each for each in build.parts if each.part.kind != "accessory"]
    try:
        anew = assemble(build.axle.axle, parts, build.load, build.axle.duty)
    except RefusedError:
        return None  # a part of the factory's of which too little is known to ask for another
    return anew if not own - anew.slots.keys() else None


def one_step_less(remedy) -> float:
    towards = remedy.told["step"] if remedy.told["bound"] == "at_most" else -remedy.told["step"]
    return round(remedy.told["becomes"] + towards, 6)


def test_on_any_build_a_remedy_mends_and_one_step_less_does_not():
    @checked
    @given(proposals())
    def mends(proposal):
        taped, parts, load = proposal
        try:
            verdicts = evaluate([taped.build(parts, load)])
        except RefusedError:
            return
        for remedy in remedies(verdicts, [0])[0]:
            check = remedy.told["check"]
            value = remedy.told["becomes"]
            assert outcome_of(remedy.make(value), check) in ("clear", "not_applicable"), remedy.told
            if abs(value - (remedy.told["was"] or 0.0)) > remedy.told["step"]:
                less = outcome_of(remedy.make(one_step_less(remedy)), check)
                assert less not in ("clear", "not_applicable"), remedy.told

    mends()


def test_many_builds_at_once_get_what_each_gets_alone():
    builds = [taped.build(parts, load) for taped, parts, load in list(UNSAFE.values())[:8]]
    together = remedies(evaluate(builds), range(len(builds)))
    for build, found in zip(builds, together, strict=True):
        alone = remedies(evaluate([build]), [0])[0]
        assert [remedy.told for remedy in found] == [remedy.told for remedy in alone]


def test_a_clear_build_needs_none():
    verdicts = evaluate([WISHBONE.build()])
    assert verdicts.record(0)["verdict"] == "clear"
    assert remedies(verdicts, [0]) == [()]
    assert remedies(verdicts, []) == []


# Source: the design's mechanics, sections 2 and 4, written out in straight_axle.py, with the uncertainties package for
# u and SciPy's root finder for where margin = reserve + 1.96 u.
RESERVES_MM = {"coil_bind": 5.0, "damper_bottoming": 5.0, "upper_ball_joint": 5.0}


@pytest.mark.parametrize("check", RESERVES_MM)
def test_the_thickest_top_spacer_is_where_another_road_finds_it(check):
    parts = [part_of(StrutTopSpacer, thickness_mm=60)]
    found = remedies(evaluate([STRAIGHT.build(parts, duty="unsealed_touring")]), [0])[0]
    told = next(r.told for r in found if r.told["check"] == check and r.kind == "strut_top_spacer")
    place = "full_droop" if check == "upper_ball_joint" else "full_bump"

    def left(thickness):
        exact = readings(parts, None) | {"t": (thickness, 1.0)}
        margin = computed({n: ufloat(v, a / sqrt(3)) if a else v for n, (v, a) in exact.items()})[f"{check} at {place}"]
        return margin.nominal_value - RESERVES_MM[check] - 1.959964 * margin.std_dev

    assert told["becomes"] <= brentq(left, 0.0, 60.0) < told["becomes"] + 0.1


def test_mass_is_taken_off_where_it_sits():
    """The same by moments about the rear axle (statics): what the axle may still carry, over each kilogram's lever."""
    verdicts = evaluate([WISHBONE.build([], HEAVY)])
    found = {r.item.name: r.told for r in remedies(verdicts, [0])[0] if r.item is not None}
    assert found["winch"]["was"] == 340.0
    assert found["winch"]["says"].startswith("Winch (640 mm ahead of the front axle) with a mass of at most ")
    wheelbase, lever = 2940.0, 640.0
    rating, kerb, box = 1420.0, 1003.0, 90.0 * (1.0 - 600.0 / 2940.0)
    most_without_doubt = (rating - kerb - box) / (1.0 + lever / wheelbase)
    assert 0.0 < most_without_doubt - found["winch"]["becomes"] < 30.0
    assert "box" not in found or found["box"]["becomes"] < 90.0


def test_a_change_that_breaks_another_check_says_so():
    """A spring that comes loose at droop can be held by spacers below it, which make it go solid at bump."""
    short_and_long = longer(WISHBONE, "spring", free_length_mm=-75, total_coils=2)
    found = remedies(evaluate([WISHBONE.build([short_and_long])]), [0])[0]
    told = next(r.told for r in found if r.kind == "spring_spacer")
    assert told["check"] == "spring_retention"
    assert "coil_bind" in told["breaks"]
    assert set(told["breaks"]) <= {worse["check"] for worse in told["worsens"]}
    harmless = next(r.told for r in found if r.told["field"] == "/parts/coil_spring/free_length_mm")
    assert "coil_bind" not in harmless["breaks"]


def test_an_undetermined_joint_is_told_how_far_it_must_reach():
    limits = {name: limit for name, limit in WISHBONE.envelope.limits.items() if name != "outer_cv"}
    taped = WISHBONE._replace(envelope=replace(WISHBONE.envelope, limits=limits))
    verdicts = evaluate([taped.build([part_of(StrutTopSpacer, thickness_mm=8)])])
    assert {check.label.check: check.code for check in failing(verdicts, 0)}["outer_cv"] == 3
    told = next(
        r.told
        for r in remedies(verdicts, [0])[0]
        if r.told["field"] == "/axle/limits/outer_cv/reached_at_arch_to_hub_mm"
    )
    assert (told["check"], told["was"], told["bound"]) == ("outer_cv", None, "at_least")
    droop = verdicts.record(0)["positions"][0]["arch_to_hub_mm"]["value"]
    assert told["becomes"] > droop + 5.0


def test_only_what_moves_a_surveyed_geometry_is_costly():
    costly = {name: is_costly(evaluate([taped.build(parts, load)]), 0) for name, (taped, parts, load) in UNSAFE.items()}
    assert {name for name, is_so in costly.items() if is_so} == {"surveyed macpherson"}


@pytest.mark.parametrize("kind", [CoilSpring, Strut, Damper, StrutTopSpacer, LimitStrap, LeafBlock])
def test_a_changed_build_is_the_one_that_assembling_gives(kind):
    for taped, parts, load in UNSAFE.values():
        build = taped.build(parts, load)
        axle = build.axle.axle
        part = {
            StrutTopSpacer: TOP,
            LimitStrap: part_of(LimitStrap, max_arch_to_hub_mm=600),
            LeafBlock: part_of(LeafBlock, height_mm=30),
        }.get(kind) or getattr(taped.envelope.fitted, {"coil_spring": "spring"}.get(kind.kind, kind.kind))
        if part is None or kind.kind not in axle.traits.fits:
            continue
        others = [p for p in build.parts if p.part.kind != kind.kind]
        anew = assemble(axle, [*others, *proposed([part])], build.load, build.axle.duty)
        changed = with_part(build, kind.kind, part)
        assert (changed.changed, changed.force_points) == (anew.changed, anew.force_points)
        assert sorted(map(repr, changed.slots.items())) == sorted(map(repr, anew.slots.items()))  # for the unknown ones
        assert changed.axle is anew.axle
        assert evaluate([changed]).record(0) == evaluate([anew]).record(0)
