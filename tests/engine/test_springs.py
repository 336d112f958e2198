"""Springs beyond the published values: limits, unknowns, shapes, and the force over deflection as properties."""

from math import pi

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from service.engine import springs

lengths_mm = st.floats(1.0, 500.0)
rates = st.floats(0.1, 500.0)
segments = st.lists(st.tuples(st.floats(0.5, 100.0), rates), min_size=1, max_size=6)


def points_of(segments):
    steps = [(width, width * rate) for width, rate in segments]
    return np.vstack([np.zeros(2), np.cumsum(steps, axis=0)])


def test_rate_against_the_strain_energy_of_the_twisted_wire():
    # Castigliano: the energy of a moment F D / 2 along the wire is F^2 / (2 R), here at F = 1.
    wire_mm, mean_diameter_mm, coils, modulus_mpa = 16.0, 118.0, 8.5, 78_500.0
    polar_mm4 = pi * wire_mm**4 / 32.0
    energy, _ = quad(
        lambda _: (mean_diameter_mm / 2.0) ** 2 / (2.0 * modulus_mpa * polar_mm4), 0.0, pi * mean_diameter_mm * coils
    )
    assert springs.rate_n_per_mm(wire_mm, mean_diameter_mm, coils, modulus_mpa) == pytest.approx(1.0 / (2.0 * energy))


@given(st.floats(5.0, 20.0))
def test_the_two_stress_corrections_differ_by_little(index):
    assert springs.bergstraesser_factor(index) == pytest.approx(springs.wahl_factor(index), rel=0.013)


@given(st.floats(4.0, 20.0), lengths_mm, st.floats(0.0, 50_000.0))
def test_correction_never_lowers_the_stress(index, wire_mm, force_n):
    plain = springs.uncorrected_shear_stress_mpa(force_n, wire_mm, index * wire_mm)
    assert springs.corrected_shear_stress_mpa(force_n, wire_mm, index * wire_mm) >= plain


def test_hot_permissible_stress_is_linear_between_bars_and_unknown_outside_the_table():
    stresses = springs.permissible_stress_at_solid_mpa([7.4, 17.5, 60.7], "hot", np.nan)
    assert stresses == pytest.approx([np.nan, (874.4 + 840.2) / 2.0, np.nan], nan_ok=True)


def test_permissible_stress_of_unknown_forming_is_the_lower_and_unknown_without_both():
    stresses = springs.permissible_stress_at_solid_mpa(15.0, None, [1_400.0, 1_800.0, np.nan])
    assert stresses == pytest.approx([0.56 * 1_400.0, 874.4, np.nan], nan_ok=True)


@given(lengths_mm, st.floats(2.0, 20.0), st.sampled_from(["closed_ground", "closed_unground", "open"]))
def test_solid_length_of_unknown_forming_is_never_shorter_than_either(wire_mm, coils, ends):
    cold, hot, unknown = (springs.solid_length_mm(wire_mm, coils, ends, way) for way in ("cold", "hot", None))
    assert unknown == max(cold, hot)


@given(lengths_mm, lengths_mm, st.floats(2.0, 20.0), st.booleans())
def test_minimum_gaps_of_unknown_forming_are_never_smaller_than_either(wire_mm, diameter_mm, coils, dynamic):
    cold, hot, unknown = (
        springs.sum_of_minimum_gaps_mm(wire_mm, diameter_mm, coils, way, dynamic) for way in ("cold", "hot", None)
    )
    assert unknown == max(cold, hot)


def test_moving_load_asks_for_more_gap_than_a_resting_one():
    for forming in ("cold", "hot", None):
        resting, moving = (
            springs.sum_of_minimum_gaps_mm(16.0, 118.0, 8.0, forming, dynamic) for dynamic in (False, True)
        )
        assert moving > resting


def test_solid_length_has_a_row_for_every_forming_and_ends():
    ends = ("closed_ground", "closed_unground", "open")
    assert set(springs.SOLID_LENGTH_COILS) == {(forming, end) for forming in ("cold", "hot") for end in ends}


def test_common_practice_of_the_trade():
    # Common practice, no published source: 18 mm times 11 windings is 198 mm.
    assert springs.common_practice_solid_length_mm(18.0, 11.0) == 198.0


def test_active_coils_by_forming_and_ends():
    ends = ("closed_ground", "closed_unground", "open")
    counts = {way: [float(springs.active_coils_of(10.5, way, end)) for end in ends] for way in ("cold", "hot", None)}
    assert counts == {"cold": [8.5, 8.5, 10.5], "hot": [9.0, 9.0, 10.5], None: [9.0, 9.0, 10.5]}


@pytest.mark.parametrize(
    "result",
    [
        lambda x: springs.rate_n_per_mm(x, 118.0, 8.5, 78_500.0),
        lambda x: springs.corrected_shear_stress_mpa(x, 16.0, 118.0),
        springs.wahl_factor,
        springs.direct_shear_factor,
        lambda x: springs.permissible_stress_at_solid_mpa(16.0, "cold", x),
        lambda x: springs.permissible_stress_at_solid_mpa(x, "hot", 1_700.0),
        lambda x: springs.solid_length_mm(x, 10.5, "open", None),
        lambda x: springs.common_practice_solid_length_mm(16.0, x),
        lambda x: springs.sum_of_minimum_gaps_mm(16.0, x, 8.5, None, dynamic=True),
        lambda x: springs.active_coils_of(x, None, "closed_ground"),
        lambda x: springs.shear_modulus_at_mpa(78_500.0, x),
        lambda x: springs.coil_growth_at_solid_mm(x, 16.0, 118.0, 8.5),
        lambda x: springs.surge_frequency_hz(16.0, 118.0, x, 78_500.0),
        lambda x: springs.buckling_deflection_ratio(x, 118.0, 0.5, 206_000.0, 78_500.0),
    ],
)
def test_unknown_in_unknown_out_and_the_known_beside_it_unharmed(result):
    both = result(np.array([11.0, np.nan]))
    assert list(np.isnan(both)) == [False, True]
    assert both[0] == result(11.0)


def test_table_of_points_starts_at_zero_whether_stated_or_not():
    stated = springs.table_of_points([[0.0, 0.0], [10.0, 500.0], [20.0, 1_200.0]])
    left_out = springs.table_of_points([[10.0, 500.0], [20.0, 1_200.0]])
    assert all(np.array_equal(*pair) for pair in zip(stated, left_out, strict=True))


@pytest.mark.parametrize(
    "points",
    [
        [],
        [[0.0, 0.0]],
        [[0.0, 100.0], [10.0, 500.0]],
        [[-5.0, 100.0], [10.0, 500.0]],
        [[10.0, 0.0], [20.0, 500.0]],
        [[10.0, 500.0], [10.0, 600.0]],
        [[20.0, 500.0], [10.0, 600.0]],
        [[10.0, 500.0], [20.0, 400.0]],
        [[10.0, np.nan]],
        [[10.0, 500.0], [np.inf, 600.0]],
    ],
)
def test_points_that_do_not_grow_are_refused(points):
    with pytest.raises(ValueError, match="grow"):
        springs.table_of_points(points)


@settings(deadline=None)
@given(segments, st.lists(st.floats(0.0, 1.0), min_size=1, max_size=9))
@example([(10.0, 50.0), (10.0, 70.0)], [0.0, 0.5, 1.0])
def test_force_against_interpolation_between_the_points(segments, fractions):
    points = points_of(segments)
    deflections = np.array(fractions) * points[-1, 0]
    force = springs.force_n(deflections[None, :], springs.table_of_points(points))
    assert force[0] == pytest.approx(np.interp(deflections, *points.T), rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(segments, st.lists(st.floats(-50.0, 800.0), min_size=2, max_size=9))
def test_force_never_falls_and_is_zero_on_a_loose_spring(segments, deflections):
    deflections = np.sort(np.array(deflections))
    force = springs.force_n(deflections[None, :], springs.table_of_points(points_of(segments)))[0]
    assert (np.diff(force) >= 0.0).all()
    assert (force[deflections <= 0.0] == 0.0).all()


@settings(deadline=None)
@given(segments, st.floats(-50.0, 800.0), st.floats(1e-6, 1e-3))
def test_force_is_continuous(segments, deflection, step):
    table = springs.table_of_points(points_of(segments))
    before, after = springs.force_n([[deflection, deflection + step]], table)[0]
    assert after - before <= (table.slopes_n_per_mm.max() * step) * (1.0 + 1e-6) + 1e-6


@settings(deadline=None)
@given(segments, st.floats(0.0, 800.0))
def test_stiffness_is_the_slope_of_the_force(segments, deflection):
    table = springs.table_of_points(points_of(segments))
    reach = np.append(table.knots_mm[0, 1:], np.inf)
    step = 1e-3
    if np.any((deflection < reach) & (reach < deflection + step)):
        deflection = reach[np.searchsorted(reach, deflection, side="right")]  # start at the knot, not just before it
    before, after = springs.force_n([[deflection, deflection + step]], table)[0]
    assert springs.stiffness_n_per_mm([[deflection]], table)[0, 0] == pytest.approx((after - before) / step, rel=1e-4)


@settings(deadline=None)
@given(st.lists(segments, min_size=1, max_size=5), st.lists(st.floats(-50.0, 800.0), min_size=1, max_size=5))
def test_many_springs_at_once_are_each_spring_alone(many, deflections):
    tables = [springs.table_of_points(points_of(one)) for one in many] + [springs.linear_table([72.0, 60.0])]
    stacked = springs.stack_tables(tables)
    deflections = np.array([deflections])
    for function in (springs.force_n, springs.stiffness_n_per_mm):
        alone = np.vstack([function(np.repeat(deflections, len(table.knots_mm), axis=0), table) for table in tables])
        assert np.array_equal(function(np.repeat(deflections, len(alone), axis=0), stacked), alone)


def test_linear_spring_goes_on_and_one_table_serves_many_rows():
    table = springs.linear_table(72.0)
    assert springs.force_n([[10.0, 1_000.0], [-1.0, 5.0]], table).tolist() == [[720.0, 72_000.0], [0.0, 360.0]]
    assert springs.stiffness_n_per_mm([[10.0, 0.0], [-1.0, 5.0]], table).tolist() == [[72.0, 72.0], [0.0, 72.0]]


def test_unknown_rate_or_deflection_gives_unknown_force_and_stiffness():
    table = springs.stack_tables(
        [springs.linear_table([np.nan, 72.0]), springs.table_of_points([[10, 500], [20, 1200]])]
    )
    for function in (springs.force_n, springs.stiffness_n_per_mm):
        unknown = np.isnan(function([[5.0], [np.nan], [np.nan]], table))
        assert unknown.all()
        assert not np.isnan(function([[5.0], [5.0], [5.0]], table)[1:]).any()
        assert np.isnan(function([[-5.0]] * 3, table)).tolist() == [[True], [False], [False]]
