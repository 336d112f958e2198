"""A remedy holds when it is asked for from its words alone, on axles whose readings have half-widths of their own."""

from dataclasses import replace

import pytest
from asked_anew import faults
from beam_axles import BEAMS
from hypothesis import given
from reference_axles import WISHBONE, part_of
from strategies import checked, proposals
from surveyed_axles import WISHBONE as SURVEYED

from service.engine import Limit, Reading, RefusedError, evaluate
from service.engine.parts import DifferentialSpacer, LeafBlock, LimitStrap, Shackle, StrutTopSpacer
from service.engine.remedies import remedies
from service.engine.remedies.levers import Lever
from service.engine.remedies.solving import Problem, solved

THICK = part_of(StrutTopSpacer, thickness_mm=35)


@pytest.mark.parametrize("half_width", [0.0, 0.5, 6.0])
def test_the_range_that_a_joint_needs_is_as_surely_known_as_the_one_it_has(half_width):
    limits = {
        joint: replace(limit, reached_at_arch_to_hub_mm=Reading(limit.reached_at_arch_to_hub_mm.value, half_width))
        for joint, limit in WISHBONE.envelope.limits.items()
    }
    axle = WISHBONE._replace(envelope=replace(WISHBONE.envelope, limits=limits))
    build = axle.build([THICK])
    fields = {remedy.told["field"] for remedy in remedies(evaluate([build]), [0])[0]}
    assert "/axle/limits/outer_cv/reached_at_arch_to_hub_mm" in fields
    assert "/parts/upper_arm/ball_joint_reached_at_arch_to_hub_mm" in fields
    assert faults(build) == []


def test_a_joint_whose_range_a_differential_spacer_states_is_that_spacers():
    spacer = DifferentialSpacer(Reading(20.0), Reading(650.0, 3.0))
    build = WISHBONE.build([THICK, spacer])
    told = [r.told for r in remedies(evaluate([build]), [0])[0] if r.told["check"] == "inner_cv"]
    assert "/parts/differential_spacer/inner_cv_reached_at_arch_to_hub_mm" in {each["field"] for each in told}
    assert not [each for each in told if each["field"].startswith("/axle")]
    assert faults(build) == []


@pytest.mark.parametrize(("axle", "drop", "joint"), [(WISHBONE, 45.0, "inner_cv"), (SURVEYED, 60.0, "outer_cv")])
def test_a_joint_that_a_lowered_differential_bends_in_bump_is_mended_by_lowering_it_less(axle, drop, joint):
    limits = {**axle.envelope.limits, "outer_cv": Limit(max_angle_deg=Reading(30.0))} if axle is SURVEYED else {}
    axle = axle._replace(envelope=replace(axle.envelope, limits={**axle.envelope.limits, **limits}))
    build = axle.build([part_of(DifferentialSpacer, drop_mm=drop)])
    told = [r.told for r in remedies(evaluate([build]), [0])[0] if r.told["check"] == joint]
    less = next(each for each in told if each["field"] == "/parts/differential_spacer/drop_mm")
    assert (less["bound"], less["was"]) == ("at_most", drop)
    assert 0.0 < less["becomes"] < drop
    assert "/parts/bump_stop_spacer/thickness_mm" in {each["field"] for each in told}
    assert faults(build) == []


def test_a_block_lowers_the_wheel_without_asking_more_of_the_shackle():
    leaf = BEAMS["solid_axle_leaf"]
    limits = {**leaf.envelope.limits, "shackle": Limit()}
    axle = leaf._replace(envelope=replace(leaf.envelope, limits=limits))
    build = axle.build([part_of(LeafBlock, height_mm=60), part_of(Shackle, length_mm=150)])
    assert "shackle_past_line" in {remedy.told["check"] for remedy in remedies(evaluate([build]), [0])[0]}
    assert faults(build) == []


def test_a_solid_length_that_was_only_reckoned_may_be_longer_once_it_is_measured():
    """Nine windings of 20.2 +-0.6 mm: reckoned, the doubt about the wire is paid nine times."""
    spring = replace(
        WISHBONE.envelope.fitted.spring, wire_mm=Reading(20.2, 0.6), ends=None, forming=None, wire_tolerance_mm=None
    )
    build = WISHBONE.build([spring])
    found = remedies(evaluate([build]), [0])[0]
    told = next(r.told for r in found if r.told["field"].endswith("solid_length_mm"))
    assert told["becomes"] > told["was"]
    assert told["says"].startswith("A spring with a solid length, measured, of at most ")
    assert faults(build) == []


def test_on_any_build_what_a_remedy_says_is_true():
    @checked
    @given(proposals())
    def says_the_truth(proposal):
        taped, parts, load = proposal
        try:
            build = taped.build(parts, load)
        except RefusedError:
            return
        assert faults(build) == []

    says_the_truth()


def test_where_the_straight_line_misleads_halving_finds_the_place():
    """A strap holds the wheel too low until little of the spacer is left; and in bump, where the joint goes exactly as
    far as the factory takes it, what passes has nothing to spare anywhere.
    """
    limits = {**WISHBONE.envelope.limits, "upper_ball_joint": Limit(Reading(650.0))}
    axle = WISHBONE._replace(envelope=replace(WISHBONE.envelope, limits=limits))
    strap = part_of(LimitStrap, max_arch_to_hub_mm=648)
    made = []

    def make(value: float):
        made.append(value)
        return axle.build([strap, part_of(StrutTopSpacer, thickness_mm=value)] if value else [strap])

    lever = Lever("top_spacer", "/parts/strut_top_spacer/thickness_mm", "at_most", 60.0, 60.0, 0.0, make)
    (problem,) = solved([Problem(0, "upper_ball_joint", lever)])
    assert problem.tried[problem.passing].clearance == 0.0
    assert not problem.tried[problem.failing].passes
    assert len(made) <= 30


def test_what_would_be_thinner_than_its_own_half_width_is_left_out():
    """A spacer of 0.6 give or take 2 mm says nothing: nobody could ask for it."""
    build = WISHBONE.build([StrutTopSpacer(Reading(35.0, 30.0))])
    found = [r.told for r in remedies(evaluate([build]), [0])[0] if r.kind == "strut_top_spacer"]
    assert found
    assert {each["becomes"] for each in found} == {0.0}
    assert faults(build) == []


def test_a_block_lower_than_any_is_left_out():
    leaf = BEAMS["solid_axle_leaf"]
    limits = {**leaf.envelope.limits, "brake_hose": Limit(Reading(706.5, 0.0))}
    axle = leaf._replace(envelope=replace(leaf.envelope, limits=limits))
    build = axle.build([LeafBlock(Reading(60.0, 0.0))])
    found = [r.told["becomes"] for r in remedies(evaluate([build]), [0])[0] if r.kind == "leaf_block"]
    assert set(found) == {0.0}
    assert faults(build) == []
