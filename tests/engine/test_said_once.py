"""What is said of a finding is kept for builds of which the same is to be said, and for no others."""

from dataclasses import replace

from hypothesis import given
from random_catalogues import AXLES
from reference_axles import proposed
from strategies import checked, proposals

from service.engine import STANDARD, Load, Reading, RefusedError, assemble, compile_axle, evaluate
from service.engine.lasting import Lasting
from service.engine.record import _said_before

AXLE = compile_axle(*AXLES["macpherson"], STANDARD)


def with_occupants(mass_kg):
    return assemble(AXLE, (), Load((), Reading(mass_kg)))


def said_anew(builds):
    """The records of builds before which nothing has been said."""
    records = []
    for build in builds:
        _said_before.cache_clear()
        records.append(evaluate([build]).record(0))
    return records


def test_another_load_leaves_what_does_not_depend_on_it():
    lighter, heavier = (evaluate([with_occupants(mass)]).record(0)["checks"] for mass in (80.0, 160.0))
    before = {check["check"]: check for check in lighter}
    same = {check["check"] for check in heavier if before[check["check"]] is check}
    assert {"coil_bind", "damper_bottoming"} <= same
    assert "bump_travel_left" not in same


@checked
@given(proposals())
def test_records_do_not_depend_on_what_was_said_before(proposal):
    axle, parts, load = proposal
    try:
        builds = [assemble(compile_axle(*axle, STANDARD), proposed(parts), each) for each in (load, Load())]
    except RefusedError:
        return
    warm = [evaluate([build]).record(0) for build in builds]
    assert repr(warm) == repr(said_anew(builds))


def test_axles_with_the_same_numbers_are_not_taken_for_each_other():
    """The readings of one end are stated elsewhere than those of the other."""
    envelope, masses, _ = AXLES["macpherson"]
    alike = replace(masses, rear_axle_kg=masses.front_axle_kg, rear_axle_rating_kg=masses.front_axle_rating_kg)
    axles = [compile_axle(envelope, alike, end, STANDARD) for end in ("front", "rear")]
    builds = [assemble(axle, (), Load((), Reading(80.0))) for axle in axles]
    warm = [evaluate([build]).record(0) for build in builds]
    assert repr(warm) == repr(said_anew(builds))
    front, rear = (str(record["checks"]) for record in warm)
    assert "front_axle_kg" in front
    assert "front_axle_kg" not in rear


def test_what_lasts_is_the_very_same_object_with_room_for_its_text():
    lighter, heavier = (evaluate([with_occupants(mass)]).record(0)["checks"] for mass in (80.0, 160.0))
    lasting = [check for check in lighter if isinstance(check, Lasting)]
    assert {check["check"] for check in lasting} >= {"coil_bind", "damper_bottoming"}
    assert all(any(check is other for other in heavier) for check in lasting)
    assert all(check.text is None for check in lasting)
