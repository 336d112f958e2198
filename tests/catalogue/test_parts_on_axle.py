"""Parts that were put on an axle once are not looked at again for another load, and nobody can tell."""

import pytest

from service.catalogue.combination import combine, is_at_hand
from service.catalogue.revisions import PARTS, current, revise
from service.engine.refusal import RefusedError

SPACER, SPRING = {"sku": "KES-TOP-20", "quantity": 1}, {"sku": "KES-SPR-4030", "quantity": 1}
SHIM = {"part": {"kind": "bump_stop_spacer", "thickness_mm": 12.0}, "quantity": 1}
BAR = {"sku": "SKA-BAR-38", "quantity": 1}
FRIDGE = {"name": "fridge", "mass_kg": 40.0, "behind_front_axle_mm": 2600.0, "quantity": 1}


def question(parts, *, duty="sealed_road", **changes):
    axle = {"vehicle": "tarn-300-double-cab", "end": "front"}
    return {"axle": axle, "parts": parts, "duty": duty, "policy": "standard", **changes}


QUESTIONS = [
    question([SPRING, SHIM]),
    question([SPRING, SHIM], load={"accessories": [BAR], "occupants_kg": 160.0}),
    question([SPRING, SHIM], load={"accessories": [BAR, {**FRIDGE, "quantity": 2}]}),
    question(
        [SPRING, SHIM], load={"accessories": [{**BAR, "quantity": 2}]}, target_lift_mm=40.0, lift_tolerance_mm=5.0
    ),
    question([SHIM, SPRING], load={"occupants_kg": 80.0}),
    question([SPRING, SHIM], duty="rock_and_articulation"),
    question([SPRING, {**SHIM, "quantity": 2}]),
    question([SPRING, {**SHIM, "part": {**SHIM["part"], "thickness_mm": 13.0}}]),
    question([SPACER]),
    question([{**SPACER, "quantity": 2}]),
    question([SPACER, BAR], load={"accessories": [FRIDGE]}),
    question([]),
]


def refusal(catalogue, asked):
    with pytest.raises(RefusedError) as refused:
        combine(catalogue, asked)
    return [(fault.pointer, fault.detail) for fault in refused.value.faults]


def test_every_question_gets_the_build_that_it_gets_alone(references):
    standing = references.standing()
    for asked in [*QUESTIONS, *reversed(QUESTIONS)]:
        assert combine(standing, asked) == combine(references, asked)


def test_other_loads_share_what_was_made_of_the_parts(references):
    standing = references.standing()
    light, heavy = (combine(standing, asked).build for asked in QUESTIONS[1:3])
    assert light.parts is heavy.parts
    assert light.load != heavy.load
    assert light.slots["added_axle_kg"] != heavy.slots["added_axle_kg"]


def test_a_linkage_of_its_own_is_not_kept_beyond_the_few_that_its_axle_keeps(references):
    standing = references.standing()
    stenmoor = {"axle": {"vehicle": "stenmoor-340-wagon", "end": "front"}}
    lowered = question([{"part": {"kind": "differential_spacer", "drop_mm": 20.0}, "quantity": 1}], **stenmoor)
    spring = question([{"sku": "KES-SPR-S3540", "quantity": 1}], **stenmoor)
    for asked in (lowered, spring):
        combine(standing, asked)
    assert (is_at_hand(standing, lowered), is_at_hand(standing, spring)) == (False, True)
    assert combine(standing, lowered) == combine(references, lowered)


@pytest.mark.parametrize(
    "load",
    [
        {"accessories": [{**FRIDGE, "mass_kg": -4.0}]},
        {"accessories": [BAR, {**FRIDGE, "behind_front_axle_mm": 1e9}], "occupants_kg": 1e6},
        {"accessories": [{"sku": "KES-TOP-20", "quantity": 1}]},
        {"accessories": [{"sku": "NOBODY-HAS-IT", "quantity": 1}]},
    ],
)
def test_a_load_that_cannot_be_is_refused_as_ever(references, load):
    standing = references.standing()
    combine(standing, question([SPRING, SHIM]))
    asked = question([SPRING, SHIM], load=load)
    assert refusal(standing, asked) == refusal(standing, asked) == refusal(references, asked)


def test_parts_that_were_refused_are_refused_again(references):
    standing = references.standing()
    asked = question([SPRING, SPRING], load={"occupants_kg": 160.0})
    assert refusal(standing, asked) == refusal(standing, asked) == refusal(references, asked)


def test_a_change_of_the_catalogue_is_seen_at_once(references, database):
    before = combine(references.standing(), question([SPACER]))
    with database.writing() as connection:
        stored = current(connection, PARTS, (SPACER["sku"],))
        revise(connection, PARTS, stored, {**stored.body, "thickness_mm": 7.0}, {})
    after = combine(references.standing(), question([SPACER]))
    assert after.part_revisions[SPACER["sku"]] == before.part_revisions[SPACER["sku"]] + 1
    assert (before.build.slots["top_spacer"][0], after.build.slots["top_spacer"][0]) == (20.0, 7.0)
