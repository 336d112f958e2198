"""Closing-coil springs: the curve's properties, the least energy of the zones as another road, and what is refused."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from service.engine.springs import force_n, points_of_zones, rate_n_per_mm, table_of_points

WIRE = (14.0, 118.0, 78_500.0)  # mm, mm, MPa
zones_of_a_spring = st.lists(st.tuples(st.floats(0.5, 12.0), st.floats(1.0, 150.0)), min_size=1, max_size=5)


def rates(points):
    steps = np.diff(points, axis=0)
    return steps[:, 1] / steps[:, 0]


@given(st.floats(0.5, 12.0), st.floats(1.0, 300.0))
def test_one_zone_is_a_linear_spring(coils, gap_mm):
    points = points_of_zones(*WIRE, [(coils, gap_mm)])
    assert points == ((0.0, 0.0), (gap_mm, pytest.approx(float(rate_n_per_mm(*WIRE[:2], coils, WIRE[2])) * gap_mm)))


@settings(deadline=None)
@given(zones_of_a_spring)
@example([(2.0, 20.0), (4.0, 40.0)])
@example([(3.0, 0.3), (3.0, 0.1), (3.0, 0.2)])
def test_curve_starts_at_rest_grows_stiffer_and_ends_where_all_gaps_are_closed(zones):
    points = points_of_zones(*WIRE, zones)
    assert points[0] == (0.0, 0.0)
    assert points[-1][0] == pytest.approx(sum(gap for _, gap in zones), rel=1e-12)
    assert (np.diff(points, axis=0) > 0.0).all()
    assert (np.diff(rates(points)) > 0.0).all()
    assert rates(points)[0] == pytest.approx(rate_n_per_mm(*WIRE[:2], sum(coils for coils, _ in zones), WIRE[2]))


@settings(deadline=None)
@given(zones_of_a_spring, st.floats(0.0, 1.0))
def test_each_zone_is_pressed_by_the_force_or_closed_at_every_deflection(zones, share):
    points = points_of_zones(*WIRE, zones)
    deflection = share * points[-1][0]
    force = force_n([[deflection]], table_of_points(points))[0, 0]
    alone = [float(rate_n_per_mm(*WIRE[:2], coils, WIRE[2])) for coils, _ in zones]
    pressed = sum(min(force / rate, gap) for rate, (_, gap) in zip(alone, zones, strict=True))
    assert pressed == pytest.approx(deflection, rel=1e-5, abs=1e-9)  # corners nearer than 1e-6 are made one


@settings(deadline=None)
@given(zones_of_a_spring, st.floats(-0.1, 1.5), st.floats(1e-6, 1e-3))
def test_force_is_continuous(zones, share, step_mm):
    table = table_of_points(points_of_zones(*WIRE, zones))
    deflection = share * sum(gap for _, gap in zones)
    before, after = force_n([[deflection, deflection + step_mm]], table)[0]
    assert 0.0 <= after - before <= table.slopes_n_per_mm.max() * step_mm * (1.0 + 1e-6) + 1e-6


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 12.0), st.floats(1.0, 150.0)), min_size=2, max_size=4))
def test_order_of_the_zones_does_not_matter(zones):
    assert {points_of_zones(*WIRE, order) for order in permutations(zones)} == {points_of_zones(*WIRE, zones)}


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95])
def test_force_against_the_least_energy_of_the_zones(share):
    # At a given deflection the zones share it so that their energy is least, none past its gap.
    zones = [(1.5, 12.0), (2.5, 40.0), (4.5, 110.0)]
    gaps = np.array([gap for _, gap in zones])
    alone = rate_n_per_mm(*WIRE[:2], [coils for coils, _ in zones], WIRE[2])
    deflection = share * gaps.sum()

    def energy(pressed_mm):
        return 0.5 * (alone * pressed_mm**2).sum() / 1e3

    least = minimize(
        energy,
        share * gaps,
        jac=lambda pressed_mm: alone * pressed_mm / 1e3,
        method="SLSQP",
        bounds=[(0.0, gap) for gap in gaps],
        constraints={"type": "eq", "fun": lambda pressed_mm: pressed_mm.sum() - deflection},
        options={"ftol": 1e-14, "maxiter": 500},
    )
    assert least.success
    still_open = least.x < gaps - 1e-3
    assert still_open.any()
    force = force_n([[deflection]], table_of_points(points_of_zones(*WIRE, zones)))[0, 0]
    assert (alone * least.x)[still_open] == pytest.approx(force, rel=1e-4)


@pytest.mark.parametrize(
    "zones",
    [
        [(2.0, 20.0), (4.0, 40.0), (1.0, 60.0)],  # 20 over 2 coils is 40 over 4: one corner, the last one another
        [(3.0, 0.3), (3.0, 0.1 + 0.2), (1.0, 60.0)],  # the same but for rounding
    ],
)
def test_zones_that_close_together_make_one_corner(zones):
    points = points_of_zones(*WIRE, zones)
    assert len(points) == 3
    assert points[-1][0] == pytest.approx(sum(gap for _, gap in zones), rel=1e-12)


def test_closer_coils_go_first():
    # By hand: 80 000 x 10^4 / (8 x 100^3 x n) = 100 / n N/mm; 50 and 25 N/mm close at 1000 and 2000 N.
    assert points_of_zones(10.0, 100.0, 80_000.0, [(4.0, 80.0), (2.0, 20.0)]) == (
        (0.0, 0.0),
        (60.0, 1_000.0),
        (100.0, 2_000.0),
    )


@pytest.mark.parametrize(
    ("wire", "zones", "said"),
    [
        (WIRE, [], "at least one zone"),
        (WIRE, [(0.0, 20.0)], "above 0"),
        (WIRE, [(4.0, 0.0)], "above 0"),
        (WIRE, [(4.0, 20.0), (-2.0, 20.0)], "above 0"),
        (WIRE, [(4.0, 20.0), (2.0, -20.0)], "above 0"),
        (WIRE, [(np.nan, 20.0)], "above 0"),
        (WIRE, [(4.0, np.inf)], "above 0"),
        ((0.0, 118.0, 78_500.0), [(4.0, 20.0)], "above 0"),
        ((14.0, np.nan, 78_500.0), [(4.0, 20.0)], "above 0"),
        ((14.0, 118.0, -78_500.0), [(4.0, 20.0)], "above 0"),
        ((118.0, 118.0, 78_500.0), [(4.0, 20.0)], "larger than its wire"),
    ],
)
def test_nonsense_is_refused(wire, zones, said):
    with pytest.raises(ValueError, match=said):
        points_of_zones(*wire, zones)
