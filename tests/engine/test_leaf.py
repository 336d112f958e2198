"""Leaf springs beyond the published values: bent beams as another road, the safe side, unknowns."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from service.engine import springs

YOUNGS_MODULUS_MPA = 207_000.0
packs = st.tuples(
    st.floats(40.0, 120.0),
    st.floats(5.0, 16.0),
    st.floats(300.0, 900.0),
    st.integers(0, 4).map(float),
    st.integers(0, 12).map(float),
).filter(lambda pack: pack[3] + pack[4] > 0.0)


def eye_rate(half_span_mm, second_moment_at):
    """Force per deflection of a cantilever's tip, from the energy of its bending, integrated."""
    compliance, _ = quad(lambda x: x**2 / (YOUNGS_MODULUS_MPA * second_moment_at(x)), 0.0, half_span_mm)
    return 1.0 / compliance


def shares_of_eye_rate(width_mm, thickness_mm, half_span_mm, full, graduated):
    """Rate of the full-length leaves, of one width all along, and of the graduated ones, together a triangle."""
    one_leaf_mm4 = width_mm * thickness_mm**3 / 12.0
    straight = eye_rate(half_span_mm, lambda _: full * one_leaf_mm4) if full else 0.0
    triangle = eye_rate(half_span_mm, lambda x: graduated * one_leaf_mm4 * x / half_span_mm) if graduated else 0.0
    return straight, triangle


@settings(deadline=None)
@given(packs)
def test_rate_against_bent_beams_side_by_side(pack):
    # Two halves share the load, so that the load over both eyes is twice the force at one.
    assert springs.leaf_rate_n_per_mm(*pack, YOUNGS_MODULUS_MPA) == pytest.approx(2.0 * sum(shares_of_eye_rate(*pack)))


@settings(deadline=None)
@given(packs, st.floats(100.0, 50_000.0))
def test_stress_against_each_leaf_s_share_of_the_load(pack, load_n):
    width, thickness, half_span, full, graduated = pack
    rates = np.array(shares_of_eye_rate(*pack))
    moments = load_n / 2.0 * rates / rates.sum() * half_span
    leaves = np.array([full, graduated])
    present = leaves > 0.0
    stresses = moments[present] / (leaves[present] * width * thickness**2 / 6.0)
    assert springs.leaf_stress_mpa(load_n, *pack) == pytest.approx(stresses.max())


@given(packs, st.floats(100.0, 50_000.0))
def test_stress_is_never_below_that_of_the_ideally_nipped_pack(pack, load_n):
    width, thickness, half_span, full, graduated = pack
    nipped = 3.0 * load_n * half_span / (width * thickness**2 * (full + graduated))
    stress = springs.leaf_stress_mpa(load_n, *pack)
    assert stress >= nipped * (1.0 - 1e-12)
    if not (full and graduated):  # leaves all alike need no nip
        assert stress == pytest.approx(nipped)


@given(packs)
def test_every_leaf_added_makes_the_pack_stiffer(pack):
    width, thickness, half_span, full, graduated = pack
    rate, one_graduated, one_full = springs.leaf_rate_n_per_mm(
        width, thickness, half_span, [full, full, full + 1.0], [graduated, graduated + 1.0, graduated], 207_000.0
    )
    assert rate < one_graduated < one_full


@pytest.mark.parametrize("place", range(6))
@pytest.mark.parametrize(
    ("result", "known"),
    [
        (springs.leaf_rate_n_per_mm, [60.0, 8.0, 600.0, 1.0, 5.0, 207_000.0]),
        (springs.leaf_stress_mpa, [8_000.0, 60.0, 8.0, 600.0, 1.0, 5.0]),
    ],
)
def test_unknown_in_unknown_out_and_the_known_beside_it_unharmed(result, known, place):
    values = [np.array([value, np.nan if i == place else value]) for i, value in enumerate(known)]
    both = result(*values)
    assert list(np.isnan(both)) == [False, True]
    assert both[0] == result(*known)
