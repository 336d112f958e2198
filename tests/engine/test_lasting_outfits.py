"""What is found of an outfit is kept for its other loads, and nobody can tell."""

from dataclasses import replace

import pytest
from hypothesis import given
from random_catalogues import AXLES
from reference_axles import part_of, proposed
from strategies import checked, proposals

from service.engine import (
    STANDARD,
    Build,
    Load,
    LoadItem,
    Reading,
    RefusedError,
    assemble,
    compile_axle,
    evaluate,
)
from service.engine.envelope import TargetLift
from service.engine.parts import BrakeHose, BumpStop
from service.engine.remedies import remedies

HEAVY = Load((LoadItem(Reading(240.0), Reading(2900.0)), LoadItem(Reading(38.0, 1.0), Reading(-650.0))), Reading(160.0))
LOADS = [(Load(), None), (HEAVY, None), (Load((), Reading(80.0)), TargetLift(Reading(30.0, 2.0), 8.0))]


def lasting(builds):
    """The same builds, of which those with one outfit have one that lasts."""
    outfits = {id(build.outfit): build.outfit.lasting() for build in builds}
    return [replace(build, outfit=outfits[id(build.outfit)]) for build in builds]


def under_loads(build, loads=LOADS):
    """The outfit of a build under some loads."""
    axle, duty = build.axle.axle, build.axle.duty
    laden = [assemble(axle, build.parts, load, duty, target) for load, target in loads]
    return [replace(each, outfit=build.outfit) for each in laden]


def records(builds):
    verdicts = evaluate(builds)
    return [repr(verdicts.record(index)) for index in range(len(builds))]


def alone(builds):
    return [record for build in builds for record in records([build])]


@checked
@given(proposals())
def test_a_lasting_outfit_has_the_records_of_any_other(proposal):
    axle, parts, load = proposal
    try:
        build = assemble(compile_axle(*axle, STANDARD), proposed(parts), load)
    except RefusedError:
        return
    builds = under_loads(build, [(load, None), *LOADS])
    kept = lasting(builds)
    anew = alone(builds)
    assert alone(kept) == anew
    assert alone(kept) == anew  # what is found of the outfit is there by now
    assert records(kept) == anew


@pytest.mark.parametrize("name", sorted(AXLES))
def test_builds_of_several_outfits_stay_in_their_order(name):
    axle = compile_axle(*AXLES[name], STANDARD)
    hose = part_of(BrakeHose, reached_at_arch_to_hub_mm=640.0)
    stop = part_of(BumpStop, free_height_mm=58.0, crushed_height_mm=30.0)
    outfits = [under_loads(assemble(axle, proposed(parts))) for parts in ((), (hose,), (stop,))]
    few = [build for builds in zip(*outfits, strict=True) for build in builds]
    many = [*under_loads(assemble(axle, proposed((hose, stop)))), *few * 4]
    for builds in (few, many):
        assert records(lasting(builds)) == records(builds)


def test_a_torsion_bar_is_found_anew_for_the_load_that_it_was_set_under():
    axle = compile_axle(*AXLES["wishbone_torsion_bar"], STANDARD)
    wound = replace(axle.envelope.fitted.torsion_bar, adjusted_ride_arch_to_hub_mm=Reading(530.0))
    builds = under_loads(assemble(axle, proposed((wound,))))
    unladen, laden = (
        next(check for check in evaluate([build]).record(0)["checks"] if check["check"] == "bar_stress")
        for build in builds[:2]
    )
    assert laden["value"] > unladen["value"] + 1.0
    assert alone(lasting(builds)) == alone(builds)


def test_what_is_said_of_an_outfit_is_said_once():
    build, *_ = lasting(under_loads(assemble(compile_axle(*AXLES["macpherson"], STANDARD))))
    first, second = (evaluate([each]).record(0) for each in under_loads(build)[:2])
    said = {check["check"]: check for check in first["checks"]}
    assert {check["check"] for check in second["checks"] if check is not said[check["check"]]} == {
        "axle_rating",
        "bump_travel_left",
        "droop_travel_left",
        "ride_height",
    }


def test_no_change_of_an_outfit_takes_along_what_was_found_of_it():
    build = lasting([assemble(compile_axle(*AXLES["macpherson"], STANDARD))])[0]
    evaluate([build])
    assert build.outfit.kept
    assert replace(build.outfit, slots={}).kept is None
    assert build.outfit.lasting().kept == {}


@checked
@given(proposals())
def test_remedies_do_not_depend_on_it(proposal):
    axle, parts, load = proposal
    try:
        build: Build = assemble(compile_axle(*axle, STANDARD), proposed(parts), load)
    except RefusedError:
        return
    of_both = [remedies(evaluate([each]), [0])[0] for each in (build, *lasting([build]))]
    told = [[each.told for each in found] for found in of_both]
    assert repr(told[0]) == repr(told[1])
