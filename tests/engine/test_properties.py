"""What must hold of every build on every axle, whatever is known of it."""

import json
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, example, given, reject
from hypothesis import strategies as st
from known_readings import axle_readings, put, readings_in, with_datum, without
from reference_axles import MACPHERSON, WISHBONE, TapedAxle, checks_of, part_of, proposed, station
from strategies import axles, checked, full_axles, halves, proposals, spacer_of

from service.engine import STANDARD, Reading, RefusedError, Travel, assemble, evaluate
from service.engine.brought import brought_by
from service.engine.decision import guard_factor
from service.engine.envelope import Load, LoadItem
from service.engine.parts import BumpStopSpacer, SpringSpacer, StrutTopSpacer
from service.engine.places import FULL_DROOP
from service.engine.positions import positions_of
from service.engine.rows import Rows

MILD_TO_SEVERE = ("not_applicable", "clear", "marginal", "undetermined", "unsafe")
JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")
LAST_DIGIT = 1.01e-4
"""Records are rounded to 1e-4: two numbers that agree to 1e-9 may still differ by this much when written."""


def severity(outcome: str) -> int:
    return MILD_TO_SEVERE.index(outcome)


def milder(before, after, of=bool) -> list[str]:
    """Checks that come out milder after than before."""
    was, now = checks_of(before), checks_of(after)
    return [
        f"{name}: {check['outcome']} -> {now[name]['outcome']}"
        for name, check in was.items()
        if of(check) and severity(now[name]["outcome"]) < severity(check["outcome"])
    ]


def bump_limits(axle: TapedAxle) -> list[str]:
    return [pointer for pointer in axle_readings(axle) if pointer.endswith("reached_in_bump_at_arch_to_hub_mm")]


# Two cases are no defect and stay out: with the stop on the rod a top spacer lets the wheel rise less, which spares a
# joint that binds in bump, or that another stop or strut takes further there; and a strap, once it is what holds the
# wheel, is surer than a strut with a long chain of readings. Advisory checks stay out too: a vehicle that is lifted has
# more bump travel left, not less.
@checked
@given(proposals(), halves(2, 20), halves(1, 20))
@example((WISHBONE, [], None), 5.0, 15.0)
@example((MACPHERSON, [], None), 5.0, 15.0)
def test_a_thicker_top_spacer_is_never_milder(proposal, thickness, more):
    axle, parts, load = proposal
    kinds = [(part[0] if isinstance(part, tuple) else part).kind for part in parts]
    left_out = {"strut_top_spacer", "limit_strap"}
    if axle.envelope.layout == "macpherson":
        axle = without(axle, *bump_limits(axle))
        left_out |= {"strut", "bump_stop"}
    parts = [p for p, kind in zip(parts, kinds, strict=True) if kind not in left_out]
    thin, thick = (
        axle.record([*parts, part_of(StrutTopSpacer, thickness_mm=t)], load) for t in (thickness, thickness + more)
    )
    assert not milder(thin, thick, lambda check: check["required"])


@checked
@given(full_axles(), halves(2, 20), halves(1, 20))
@example(MACPHERSON, 5.0, 15.0)
def test_a_spring_spacer_never_gains_coil_gap_and_never_moves_the_wheels_ends(axle, thickness, more):
    thin, thick = (axle.record([part_of(SpringSpacer, thickness_mm=t)]) for t in (thickness, thickness + more))
    gaps = [checks_of(record)["coil_bind"]["margin"] for record in (thin, thick)]
    assert gaps[0] - gaps[1] == pytest.approx(more, abs=2 * LAST_DIGIT)
    for before, after in zip(thin["positions"], thick["positions"], strict=True):
        if before["at"] != "ride":
            assert before["arch_to_hub_mm"] == after["arch_to_hub_mm"]


def half_width_raised(reading: Reading, pointer: str, share: float) -> Reading:
    field = pointer.rsplit("/", 1)[-1]
    before = STANDARD.half_width(field, reading)
    most = 0.9 * abs(reading.value) if reading.value else before + 1.0
    return Reading(reading.value, before + share * max(most - before, 0.0))


def vague(axle: TapedAxle) -> TapedAxle:
    """Stated seat offset and taped lengths disagree by more than either allows: 5 mm."""
    return with_datum(axle, "/fitted/strut/seat_offset_mm", Reading(231.0 + 5.5))


@checked
@given(proposals(), st.data())
def test_a_less_certain_reading_of_the_axle_is_never_milder(proposal, data):
    axle, parts, load = proposal
    readings = {p: r for p, r in axle_readings(axle).items() if isinstance(r, Reading)}
    pointer = data.draw(st.sampled_from(sorted(readings)))
    share = data.draw(st.sampled_from((0.002, 0.01, 0.05, 0.3)))
    less_sure = with_datum(axle, pointer, half_width_raised(readings[pointer], pointer, share))
    before, after = axle.record(parts, load), less_sure.record(parts, load)
    assert not milder(before, after)
    assert severity(after["verdict"]) >= severity(before["verdict"])


@pytest.mark.parametrize("half_width", [2.25, 3.0, 4.0])
@pytest.mark.parametrize("limit", np.arange(640.0, 660.0, 1.0))
def test_doubt_about_a_seat_gap_does_not_settle_a_seat_offset_that_contradicts_it(half_width, limit):
    axle = with_datum(vague(WISHBONE), "/limits/inner_cv/reached_at_arch_to_hub_mm", Reading(limit))
    less_sure = axle
    for index in range(4):
        gap = f"/travel/stations/{index}/seat_gap_mm"
        less_sure = with_datum(less_sure, gap, Reading(axle_readings(axle)[gap].value, half_width))
    parts = [part_of(StrutTopSpacer, thickness_mm=3)]
    assert not milder(axle.record(parts), less_sure.record(parts))


@checked
@given(proposals(), st.data())
def test_a_less_certain_reading_of_a_part_is_never_milder(proposal, data):
    axle, parts, load = proposal
    assume(parts)
    index = data.draw(st.integers(0, len(parts) - 1))
    part, quantity = parts[index] if isinstance(parts[index], tuple) else (parts[index], 1)
    readings = {p: r for p, r in readings_in(part) if isinstance(r, Reading)}
    assume(readings)
    pointer = data.draw(st.sampled_from(sorted(readings)))
    raised = half_width_raised(readings[pointer], pointer, data.draw(st.sampled_from((0.002, 0.01, 0.05, 0.3))))
    less_sure = (put(part, pointer.split("/")[1:], raised), quantity)
    before = axle.record(parts, load)
    after = axle.record([*parts[:index], less_sure, *parts[index + 1 :]], load)
    assert not milder(before, after)
    assert severity(after["verdict"]) >= severity(before["verdict"])


@checked
@given(proposals(), st.randoms(use_true_random=False))
def test_parts_in_another_order_give_the_same_record(proposal, random):
    axle, parts, load = proposal
    shuffled = list(parts)
    random.shuffle(shuffled)
    assert axle.record(shuffled, load) == axle.record(parts, load)


@pytest.mark.parametrize("kind", [StrutTopSpacer, SpringSpacer, BumpStopSpacer])
def test_three_spacers_are_as_unsure_listed_one_by_one_as_counted(kind):
    """Pieces of one kind may err alike, however the request names them."""
    spacer = part_of(kind, thickness_mm=4)
    counted, listed, mixed = (WISHBONE.record(parts) for parts in ([(spacer, 3)], [spacer] * 3, [spacer, (spacer, 2)]))
    assert counted == listed == mixed


def test_two_equal_loads_are_as_unsure_as_one_of_twice_the_mass():
    """So are those: they were weighed, or looked up, together."""
    tank, both = (LoadItem(Reading(mass, a), Reading(1400.0, 20.0), "tank") for mass, a in ((45.0, 2.0), (90.0, 4.0)))
    assert WISHBONE.record(load=Load((tank, tank))) == WISHBONE.record(load=Load((both,)))


@checked
@given(axles())
@example(WISHBONE)
@example(MACPHERSON)
@example(without(WISHBONE, "/fitted/strut/seat_offset_mm", "/travel/bump_stop_ratio"))
@example(without(WISHBONE, "/vehicle_masses/rear_axle_kg"))
def test_a_build_of_no_parts_is_no_worse_than_the_factory(axle):
    record = axle.record()
    for check in record["checks"]:
        if check["required"] and check["margin"] is None:
            assert check["outcome"] in ("clear", "not_applicable"), check
    assert record["lift_mm"] in (None, {"value": 0.0, "plus_minus": 0.0})


@checked
@given(full_axles())
def test_a_build_of_no_parts_drops_exactly_as_far_as_the_factory(axle):
    with np.errstate(invalid="ignore", divide="ignore"):
        build, factory = positions_of(Rows(brought_by([axle.build()])))
    assert (build.arch_to_hub_mm[FULL_DROOP] == factory.arch_to_hub_mm[FULL_DROOP]).all()
    assert axle.record()["lift_mm"] == {"value": 0.0, "plus_minus": 0.0}


def assert_same(one, other, pointer=""):
    """The same record, but for the last digit of a number."""
    if isinstance(one, dict):
        assert one.keys() == other.keys(), pointer
        for key in one:
            assert_same(one[key], other[key], f"{pointer}/{key}")
    elif isinstance(one, list):
        assert len(one) == len(other), pointer
        for index, pair in enumerate(zip(one, other, strict=True)):
            assert_same(*pair, f"{pointer}/{index}")
    elif isinstance(one, float) and isinstance(other, float):
        assert one == pytest.approx(other, abs=LAST_DIGIT), pointer
    else:
        assert one == other, pointer


@checked
@given(
    st.lists(proposals(), min_size=1, max_size=4), st.lists(st.integers(0, 1000), min_size=2, max_size=12), st.data()
)
def test_a_batch_gives_the_single_records(proposals_made, order, data):
    kept = [(axle.build(), axle, parts, load) for axle, parts, load in proposals_made]
    builds = []
    for pick in order:
        factory, _, parts, load = kept[pick % len(kept)]
        chosen = data.draw(st.sets(st.sampled_from(range(len(parts))))) if parts else set()
        # Builds on one compiled axle are computed together: let them share it.
        try:
            builds.append(assemble(factory.axle.axle, proposed([parts[i] for i in sorted(chosen)]), load))
        except RefusedError:  # some of the parts leave no travel without the others
            reject()
    together = evaluate(builds)
    for index, build in enumerate(builds):
        alone = evaluate([build])
        assert together.codes[index] == alone.codes[0]
        assert_same(alone.record(0), together.record(index))
        settled, row = together.place(index)
        labels = settled.headings.labels
        # Another build of the batch may have a finding that this one alone has not.
        same = [labels.index(label) for label in alone.place(0)[0].headings.labels]
        for name in ("judged", "spreads"):
            many, one = getattr(settled, name)[same, ..., row], getattr(alone.place(0)[0], name)[..., 0]
            np.testing.assert_allclose(many, one, rtol=1e-9, atol=1e-9)


@checked
@given(proposals())
def test_a_record_is_json_and_every_outcome_follows_from_its_numbers(proposal):
    axle, parts, load = proposal
    record = axle.record(parts, load)
    json.dumps(record, allow_nan=False)
    guard = guard_factor(STANDARD.clear_probability)
    for check in record["checks"]:
        margin, spread, outcome = check["margin"], check["standard_uncertainty"], check["outcome"]
        by_factory = any("as it left the factory" in rule["rule"] for rule in check["basis"])
        if outcome == "clear" and not by_factory:
            assert margin - check["reserve"] >= guard * spread - 3 * LAST_DIGIT, check
        if outcome == "marginal" and check["required"]:
            assert -LAST_DIGIT <= margin < check["reserve"] + guard * spread + 3 * LAST_DIGIT, check
        if outcome == "unsafe":
            assert margin < LAST_DIGIT, check
        if outcome == "undetermined":
            assert margin is None, check
    required = [check["outcome"] for check in record["checks"] if check["required"]]
    assert severity(record["verdict"]) >= max(map(severity, required))
    assert [severity(c["outcome"]) for c in record["checks"]] == sorted(
        (severity(c["outcome"]) for c in record["checks"]), reverse=True
    )


@checked
@given(proposals(), st.data())
@example((WISHBONE, [part_of(StrutTopSpacer, thickness_mm=3)], None), None)
def test_forgetting_one_datum_never_raises_and_never_invents_certainty(proposal, data):
    """A check may turn clear on less knowledge only by the factory's example."""
    axle, parts, load = proposal
    pointers = sorted(axle_readings(axle))
    for pointer in pointers if data is None else [data.draw(st.sampled_from(pointers))]:
        if len(list(readings_in(axle.envelope.travel.stations))) == 1 and pointer.startswith("/travel/stations"):
            continue
        before, after = axle.record(parts, load), without(axle, pointer).record(parts, load)
        assert before["verdict"] != "clear" or severity(after["verdict"]) >= severity("clear")
        if pointer.startswith(("/limits", "/vehicle_masses/front_axle_rating")):
            clear_by_factory = {
                c["check"] for c in after["checks"] if any("left the factory" in rule["rule"] for rule in c["basis"])
            }
            assert not milder(
                before, after, lambda c, f=clear_by_factory: c["outcome"] != "unsafe" and c["check"] not in f
            )


def sharp(at, height: float, gap: float):
    return replace(station(at), arch_to_hub_mm=Reading(height, 0.3), seat_gap_mm=Reading(gap, 0.3))


BENT = WISHBONE._replace(
    envelope=replace(
        WISHBONE.envelope,
        travel=Travel(
            (
                sharp("full_droop", 628, 318), sharp("ride", 544, 265),
                sharp("bump_contact", 462, 212), sharp("between", 396, 182),
            ),
            bump_stop_ratio=WISHBONE.envelope.travel.bump_stop_ratio,
        ),
    )
)  # fmt: skip
"""Above bump contact the strut follows the wheel by 0.45 instead of 0.65: a taller stop gives back less there."""


@checked
@given(full_axles(), st.lists(halves(2, 30), min_size=2, max_size=2))
@example(BENT, [23.0, 25.0])
def test_no_worse_than_the_factory_is_true_when_it_is_said(axle, thicknesses):
    """Whoever does not know the stop's crush may be told so; whoever does must then find it true."""
    parts = [spacer_of(StrutTopSpacer)(thicknesses[0]), spacer_of(BumpStopSpacer)(thicknesses[1])]
    stop = [f"/fitted/bump_stop/{name}" for name in ("free_height_mm", "crushed_height_mm")]
    told = checks_of(without(axle, *stop).record(parts))
    whole, factory = (checks_of(axle.record(p)) for p in (parts, []))
    for check, length in (("coil_bind", "seat_gap_mm"), ("damper_bottoming", "damper_length_mm")):
        if told[check]["outcome"] == "clear" and told[check]["margin"] is None:
            assert whole[check]["details"][length] >= factory[check]["details"][length] - 2 * LAST_DIGIT


@checked
@given(proposals())
def test_the_wheels_positions_follow_each_other(proposal):
    axle, parts, load = proposal
    record = axle.record(parts, load)
    for quantity in ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm"):
        placed = {p["at"]: p[quantity]["value"] for p in record["positions"] if p[quantity]}
        rising = [placed[at] for at in ("full_bump", "bump_contact", "ride") if at in placed]
        assert all(lower <= upper + LAST_DIGIT for lower, upper in pairwise(rising)), (quantity, placed)


def test_a_wheel_that_was_taped_past_the_end_of_a_joint_is_not_clear():
    """The strut as given is 14 mm too short for the wheel to hang where it was taped: nobody knows which is wrong."""
    lengths = (f"/travel/stations/{i}/damper_length_mm" for i in range(4))
    axle = with_datum(without(WISHBONE, *lengths), "/fitted/strut/extended_length_mm", Reading(535.0))
    axle = with_datum(axle, "/limits/inner_cv/reached_at_arch_to_hub_mm", Reading(620.0))
    check = checks_of(axle.record())["inner_cv"]
    assert check["outcome"] != "clear", check["because"]
