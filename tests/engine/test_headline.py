"""One reason for each of many builds is the one that its record is headed with."""

import pytest
from hypothesis import given
from random_catalogues import catalogue
from strategies import checked, proposals

from service.engine import Load, LoadItem, Reading, RefusedError, evaluate
from service.engine.search.axes import picks_of
from service.engine.search.space import space_of

LOADS = (None, Load((LoadItem(Reading(900.0), Reading(600.0)),)), Load((LoadItem(Reading(400.0), Reading(-500.0)),)))


@pytest.mark.parametrize("seed", range(14))
def test_of_many_builds_on_an_axle(seed):
    space = space_of(catalogue(seed))
    picks = picks_of(space.axes, space.left)[:, :120]
    picks = picks[:, ~space.refused(picks)]
    assert_alike([space.build(pick, asks_lift=seed % 2 == 0) for pick in picks.T])


@pytest.mark.parametrize("load", LOADS)
@checked
@given(proposals())
def test_of_any_build(load, proposal):
    taped, parts, _ = proposal
    try:
        assert_alike([taped.build(parts, load)])
    except RefusedError:
        return


def assert_alike(builds):
    verdicts = evaluate(builds)
    for index in range(len(builds)):
        record, told = verdicts.record(index), verdicts.headline(index)
        because = told.because()
        assert record["headline"].endswith(because)
        first = next(check for check in record["checks"] if check["because"] == because)
        assert (told.label.check, told.margin if first["margin"] is not None else None) == (
            first["check"], first["margin"],
        )  # fmt: skip
