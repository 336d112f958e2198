"""What must hold of every build on every surveyed axle, whatever is known of it."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from known_readings import readings_in
from reference_axles import checks_of, part_of, proposed
from strategies import bump_stops, checked, halves, spacer_of
from surveyed_axles import SURVEYED, WISHBONE, at, with_envelope, with_points
from test_properties import LAST_DIGIT, assert_same, half_width_raised, milder, severity

from service.engine import STANDARD as POLICY
from service.engine import Limit, Reading, assemble, compile_axle, evaluate
from service.engine.parts import (
    BumpStopSpacer,
    DifferentialSpacer,
    LimitStrap,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    UpperArm,
)

few = settings(checked, max_examples=10)
OPTIONAL = (
    "inner_cv",
    "outer_cv",
    "output_axis",
    "bump_stop",
    "bump_plate",
    "hose_body",
    "hose_upright",
    "rack_travel_mm",
)
COMPILED = {layout: compile_axle(*axle, POLICY) for layout, axle in SURVEYED.items()}
PLACES = [tuple(at(-22 + x, 662 + y, 214 + z)) for x, y, z in ((0, -4, 2), (3, 0, 0), (0, 6, -2))]


@st.composite
def builds(draw, layout: str) -> list:
    old = SURVEYED[layout].envelope.fitted.strut
    kinds = {
        "top": st.sampled_from((5.0, 12.0, 25.0, 60.0)).map(spacer_of(StrutTopSpacer)),
        "seat": halves(2, 30).map(spacer_of(SpringSpacer)),
        "stop": bump_stops(),
        "stop_spacer": halves(2, 30).map(spacer_of(BumpStopSpacer)),
        "strap": halves(560, 640).map(lambda h: part_of(LimitStrap, max_arch_to_hub_mm=h)),
        "differential": st.sampled_from((10.0, 25.0)).map(lambda d: part_of(DifferentialSpacer, drop_mm=d)),
        "strut": halves(-20, 150).map(
            lambda longer: part_of(
                Strut, extended_length_mm=old.extended_length_mm.value + longer,
                closed_length_mm=old.closed_length_mm.value, seat_offset_mm=old.seat_offset_mm.value,
            )
        ),
    }  # fmt: skip
    if layout == "wishbone_coilover":
        kinds["arm"] = st.builds(
            lambda place, angle: part_of(UpperArm, ball_joint_max_angle_deg=angle, ball_joint_mm=place),
            st.one_of(st.none(), st.sampled_from(PLACES)), st.one_of(st.none(), st.just(36.0)),
        )  # fmt: skip
    chosen = draw(st.lists(st.sampled_from(sorted(kinds)), unique=True, max_size=4))
    return [draw(kinds[name]) for name in chosen]


layouts = st.sampled_from(tuple(SURVEYED))
proposals = layouts.flatmap(lambda layout: st.tuples(st.just(layout), builds(layout)))


def record(layout: str, parts):
    return evaluate([assemble(COMPILED[layout], proposed(parts))]).record(0)


@few
@given(proposals)
def test_a_record_is_json_and_nothing_in_it_is_not_a_number(proposal):
    json.dumps(record(*proposal), allow_nan=False)


@few
@given(layouts, st.data())
def test_a_batch_gives_the_single_records(layout, data):
    made = [
        assemble(COMPILED[layout], proposed(data.draw(builds(layout)))) for _ in range(data.draw(st.integers(2, 5)))
    ]
    together = evaluate(made)
    for index, build in enumerate(made):
        assert_same(evaluate([build]).record(0), together.record(index))


def test_a_joint_known_by_its_drop_alone_beside_an_arm_known_by_its_angle():
    """Two builds at once: the factory's joint is judged by where it was taped to bind, the other arm's by its angle."""
    axle = with_envelope(WISHBONE, limits={**WISHBONE.envelope.limits, "upper_ball_joint": Limit(Reading(640.0))})
    compiled = compile_axle(*axle, POLICY)
    made = [assemble(compiled, proposed(parts)) for parts in ([], [part_of(UpperArm, ball_joint_max_angle_deg=36)])]
    together = evaluate(made)
    for index, build in enumerate(made):
        assert_same(evaluate([build]).record(0), together.record(index))


def forgotten(axle, points, limits, fitted):
    envelope = axle.envelope
    sparse = with_points(axle, **dict.fromkeys(points))
    return with_envelope(
        sparse,
        limits={joint: limit for joint, limit in envelope.limits.items() if joint not in limits},
        fitted=replace(envelope.fitted, **dict.fromkeys(fitted)),
    )


sparse_axles = st.builds(
    lambda layout, *unknown: forgotten(SURVEYED[layout], *unknown),
    layouts,
    st.sets(st.sampled_from(OPTIONAL)),
    st.sets(
        st.sampled_from(("lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose", "upper_ball_joint"))
    ),
    st.sets(st.sampled_from(("spring", "strut", "bump_stop"))),
)


@few
@given(sparse_axles)
def test_a_build_of_no_parts_is_no_worse_than_the_factory(axle):
    told = axle.record()
    for check in told["checks"]:
        if check["required"] and check["margin"] is None:
            assert check["outcome"] in ("clear", "not_applicable"), (check["check"], check["because"])
    assert told["lift_mm"] in (None, {"value": 0.0, "plus_minus": 0.0})


@few
@given(proposals, st.sampled_from(OPTIONAL))
def test_forgetting_a_point_never_raises_and_turns_nothing_unsafe_mild(proposal, point):
    layout, parts = proposal
    before, after = record(layout, parts), with_points(SURVEYED[layout], **{point: None}).record(parts)
    assert severity(after["verdict"]) >= severity("clear")
    if before["verdict"] == "undetermined":
        assert after["verdict"] != "clear"
    json.dumps(after, allow_nan=False)


@few
@given(proposals, st.data())
def test_a_less_certain_reading_is_never_milder(proposal, data):
    layout, parts = proposal
    axle = SURVEYED[layout]
    held = axle.envelope.travel.hard_points
    name = data.draw(st.sampled_from([n for n in held.__dataclass_fields__ if isinstance(getattr(held, n), tuple)]))
    i = data.draw(st.integers(0, 2))
    default = POLICY.surveyed_direction if name.endswith("_axis") else POLICY.surveyed_point_mm
    xyz = list(getattr(held, name))
    xyz[i] = replace(xyz[i], plus_minus=default * data.draw(st.sampled_from((1.5, 3.0, 10.0))))
    before, after = record(layout, parts), with_points(axle, **{name: tuple(xyz)}).record(parts)
    assert not milder(before, after)


@few
@given(proposals, st.data())
def test_a_less_certain_part_or_limit_is_never_milder(proposal, data):
    layout, parts = proposal
    axle = SURVEYED[layout]
    limits = dict(readings_in(axle.envelope.limits))
    pointer = data.draw(st.sampled_from(sorted(limits)))
    joint, field = pointer.split("/")[1:]
    raised = half_width_raised(limits[pointer], pointer, 0.05)
    widened = replace(axle.envelope.limits[joint], **{field: raised})
    vaguer = with_envelope(axle, limits={**axle.envelope.limits, joint: widened})
    assert not milder(record(layout, parts), vaguer.record(parts))


@pytest.mark.parametrize("layout", SURVEYED)
def test_a_thicker_top_spacer_never_takes_less_of_a_joint(layout):
    """Of joints at full droop, of the coil and of the damper; the linkage only ever goes further that way."""
    made = [[part_of(StrutTopSpacer, thickness_mm=t)] for t in (4, 9, 15, 22, 30, 41)]
    told = [checks_of(record(layout, parts)) for parts in made]
    for name in ("coil_bind", "damper_bottoming", "inner_cv", "outer_cv", "brake_hose", "linkage_lock"):
        outcomes = [severity(each[name]["outcome"]) for each in told]
        assert outcomes == sorted(outcomes), name
    for name in ("brake_hose", "linkage_lock"):
        margins = np.array([each[name]["margin"] for each in told])
        assert (np.diff(margins) <= LAST_DIGIT).all(), name
