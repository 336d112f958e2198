"""JCGM 106:2012, conformity. Figures of its clauses 7.3.3 and 7.4 from memory (high confidence), recomputed."""

import pytest

from service.engine.decision import conformity_probability, guard_factor


def test_7_3_3_upper_limit():
    assert conformity_probability(-5.40 - -5.47, 0.05) == pytest.approx(0.919243, abs=1e-6)


def test_7_3_3_lower_limit():
    assert conformity_probability(509.7 - 490.0, 8.6) == pytest.approx(0.989010, abs=1e-6)


def test_7_4_two_sided():
    below, above = conformity_probability(16.3 - 13.6, 1.8), conformity_probability(12.5 - 13.6, 1.8)
    # P(12.5 <= y <= 16.3) = P(y <= 16.3) - P(y < 12.5), and P(y < 12.5) is that of a margin of 12.5 - 13.6.
    assert below - above == pytest.approx(0.662630, abs=1e-6)


@pytest.mark.parametrize(("probability", "factor"), [(0.95, 1.644854), (0.975, 1.959964)])
def test_guard_factors_of_the_normal_table(probability, factor):
    """One-sided normal quantiles, from memory (high confidence)."""
    assert guard_factor(probability) == pytest.approx(factor, abs=1e-6)


@pytest.mark.parametrize(("share_of_expanded", "false_accept"), [(1.0, 0.02275), (0.83, 0.04846), (1.5, 0.00135)])
def test_false_acceptance_behind_a_guard_band(share_of_expanded, false_accept):
    """ILAC-G8:09/2019: with a guard band of U (k = 2) below 2.5 % are wrongly accepted (read); figures recomputed."""
    assert 1.0 - conformity_probability(share_of_expanded * 2.0, 1.0) == pytest.approx(false_accept, abs=1e-5)
