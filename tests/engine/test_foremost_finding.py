"""The one reason that is told of each of many builds is the one that its whole record tells."""

import random
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from random_catalogues import AXLES, catalogue, part
from reference_axles import proposed
from strategies import checked, proposals

from service.engine import STANDARD, Load, ProposedPart, RefusedError, assemble, compile_axle, evaluate
from service.engine.decision import OUTCOMES
from service.engine.foremost_finding import foremost_places, in_short
from service.engine.told import decisive


def agree_with_their_records(builds):
    """How many builds were compared, by which checks they were told, and with which verdicts."""
    verdicts = evaluate(builds)
    short = in_short(verdicts)
    assert len(short) == len(builds)
    for index, each in enumerate(short):
        record = verdicts.record(index)
        told = decisive(record["verdict"], verdicts.checks(index))
        assert (each.verdict, each.action) == (record["verdict"], record["action"])
        assert (each.check, each.because) == (told.label.check, told.because())
        assert record["headline"].endswith(each.because)
        lift = record["lift_mm"]
        assert each.lift_mm == (lift and (lift["value"], lift["plus_minus"]))
    return len(builds), {each.check for each in short}, {each.verdict for each in short}


def assembled(combinations, axle, load):
    builds = []
    for parts in combinations:
        try:
            builds.append(assemble(axle, parts, load, "rock_and_articulation"))
        except RefusedError:
            continue
    return builds


def test_of_random_catalogues_on_every_layout():
    compared, checks, verdicts = 0, set(), set()
    for seed in range(len(AXLES) * 4):
        wanted = catalogue(seed)
        every = product(*((None, *parts) for parts in wanted.choices.values()))
        some = [[each for each in chosen if each is not None] for chosen in every]
        random.Random(seed).shuffle(some)  # noqa: S311 — the same each time
        counted, told, given = agree_with_their_records(assembled(some[:40], wanted.axle, wanted.load))
        compared, checks, verdicts = compared + counted, checks | told, verdicts | given
    assert compared > 500
    assert len(checks) > 5
    assert verdicts == set(OUTCOMES) - {"not_applicable"}


@pytest.mark.parametrize("name", AXLES)
def test_of_builds_on_one_axle_in_more_than_one_chunk(name):
    chance = random.Random(name)  # noqa: S311 — the same each time
    axle = compile_axle(*AXLES[name], STANDARD)
    kinds = sorted(axle.traits.fits - {"accessory", "tyre", "differential_spacer", "upper_arm", "strut_top_spacer"})
    offered = [[ProposedPart(part(kind, AXLES[name], chance), name=kind)] for kind in kinds for _ in range(40)]
    assert agree_with_their_records(assembled(offered, axle, Load()))[0] > 128


@checked
@given(proposals())
def test_of_whatever_is_known_of_an_axle_and_its_parts(proposal):
    axle, parts, load = proposal
    try:
        build = assemble(compile_axle(*axle, STANDARD), proposed(parts), load)
    except RefusedError:
        return
    agree_with_their_records([build])


def test_builds_on_several_axles_keep_their_order():
    axles = [compile_axle(*taped, STANDARD) for taped in AXLES.values()]
    alone = [in_short(evaluate([assemble(axle)]))[0] for axle in axles]
    assert in_short(evaluate([assemble(axle) for axle in [*axles, *axles]])) == [*alone, *alone]
    assert in_short(evaluate([])) == []


def test_the_choice_is_a_place_among_the_findings():
    axle = compile_axle(*next(iter(AXLES.values())), STANDARD)
    settled, row = evaluate([assemble(axle)]).place(0)
    (place,) = foremost_places(settled)
    assert settled.codes[place, row] == settled.verdict[row]
    assert np.issubdtype(foremost_places(settled).dtype, np.integer)
