"""Which finding of a check is told, and in what order: arrays against the rule said once, one build at a time."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.checks.finding import Label
from service.engine.headings import Headings
from service.engine.worst_first import worst_first

LABELS = (
    Label("coil_bind", "full_bump", "length_mm"),
    Label("axle_rating", "ride", "load_kg"),
    Label("inner_cv", "full_droop", "angle_deg", case="angle"),
    Label("bump_travel_left", "ride", "bump_travel_left_percent", required=False),
    Label("inner_cv", "full_bump", "plunge_mm", case="plunge"),
    Label("axle_rating", "ride", "load_kg", case="gross"),
    Label("inner_cv", "full_droop", "angle_deg", required=False, case="left_lock"),
)
RESERVES = (5.0, 0.0, 2.0, 0.0, 2.0, 0.0, 2.0)
HEADINGS = Headings(LABELS, np.array(RESERVES)[:, None])
FEW = st.sampled_from([-8.0, -1.0, 0.0, 2.0, 5.0, 9.0, math.nan])
SPREADS = st.sampled_from([0.0, 1e-9, 0.5, 2.0, math.nan])


def one_by_one(codes, margins, spreads):
    """The rule in plain Python: sorted by the worst of each check, ties as the findings stand."""

    def severity(place):
        room = (margins[place] - RESERVES[place]) / max(spreads[place], 1e-3)
        return -codes[place], not LABELS[place].required, -math.inf if math.isnan(room) else room

    def of_one_check(place):
        return -codes[place], LABELS[place].case == "gross", severity(place)

    checks = dict.fromkeys(label.check for label in LABELS)
    worst = [min((i for i, each in enumerate(LABELS) if each.check == name), key=of_one_check) for name in checks]
    return sorted(worst, key=severity)


@st.composite
def builds(draw):
    finding = st.tuples(st.integers(0, 4), FEW, SPREADS)
    return draw(st.lists(st.tuples(*(finding for _ in LABELS)), min_size=1, max_size=6))


@given(builds())
def test_agrees_with_the_rule_on_each_build_by_itself(findings):
    codes, margins, spreads = (np.array([[f[i] for f in build] for build in findings]).T for i in range(3))
    found = worst_first(HEADINGS, codes.astype(np.int8), margins, spreads)
    for row, build in enumerate(findings):
        assert found[:, row].tolist() == one_by_one(*zip(*build, strict=True))


@pytest.mark.parametrize(
    ("codes", "first"),
    [
        ([4, 1, 1, 1, 1, 1, 1], 0),
        ([1, 1, 1, 2, 1, 1, 1], 3),
        ([1, 3, 1, 1, 1, 4, 1], 5),  # the whole vehicle's, as it is worse than the axle's
        ([1, 3, 1, 1, 1, 3, 1], 1),
    ],
)
def test_the_worst_outcome_stands_first(codes, first):
    column = np.full((len(LABELS), 1), 3.0)
    assert worst_first(HEADINGS, np.array(codes, np.int8)[:, None], column, column)[0, 0] == first
