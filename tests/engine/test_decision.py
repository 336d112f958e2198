"""The decision rule, row by row."""

import numpy as np
import pytest

from service.engine.decision import CLEAR, MARGINAL, OUTCOMES, UNDETERMINED, UNSAFE, guard_factor, outcomes, overall
from service.engine.evaluation import evaluate

GUARD = guard_factor(0.975)


@pytest.mark.parametrize(
    ("margin", "spread", "reserve", "outcome"),
    [
        (-0.01, 0.0, 5.0, "unsafe"),
        (-0.01, 50.0, 5.0, "unsafe"),
        (0.0, 0.0, 0.0, "clear"),
        (0.0, 0.1, 0.0, "marginal"),
        (5.0, 0.0, 5.0, "clear"),
        (5.0 + GUARD, 1.0, 5.0, "clear"),
        (5.0 + GUARD - 0.01, 1.0, 5.0, "marginal"),
        (4.99, 0.0, 5.0, "marginal"),
        (np.nan, 1.0, 5.0, "undetermined"),
        (10.0, np.nan, 5.0, "undetermined"),
        (np.inf, 1.0, 5.0, "undetermined"),
    ],
)
def test_outcome_of_a_margin(margin, spread, reserve, outcome):
    code = outcomes(np.array([margin]), np.array([spread]), np.array([reserve]), GUARD)[0]
    assert OUTCOMES[code] == outcome


@pytest.mark.parametrize(
    ("codes", "required", "verdict"),
    [
        ([CLEAR, CLEAR], [True, False], CLEAR),
        ([CLEAR, MARGINAL], [True, False], MARGINAL),
        ([UNDETERMINED, UNSAFE], [True, True], UNSAFE),
        ([UNDETERMINED, MARGINAL], [True, True], UNDETERMINED),
        ([CLEAR, UNSAFE], [True, False], MARGINAL),  # advisory: marginal at most
        ([CLEAR, UNDETERMINED], [True, False], CLEAR),  # advisory: what it cannot tell withholds nothing
        ([0, 0], [True, True], CLEAR),
    ],
)
def test_verdict_of_outcomes(codes, required, verdict):
    column = np.array(codes, np.int8)[:, None]
    assert overall(column, np.array(required)[:, None]).tolist() == [verdict]


def test_no_builds_no_verdicts():
    assert evaluate([]).codes.tolist() == []
