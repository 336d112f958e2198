"""Sadhu Singh, Machine Design I, ch. 8. Inputs and answers from a worked companion; the book itself was not read."""

import pytest

from service.engine.springs import (
    direct_shear_factor,
    rate_n_per_mm,
    solid_length_mm,
    surge_frequency_hz,
    uncorrected_shear_stress_mpa,
    wahl_factor,
)


def test_8_1_wahl_factor_and_solid_length():
    assert wahl_factor(8.0) == pytest.approx(1.18402, abs=1e-5)
    assert solid_length_mm(4.25, 16.0, "closed_ground", "cold") == 68.0


def test_8_1_surge_frequency():
    # Misprint: the companion has 3.079 Hz, units mixed by sqrt(1000). 97.40 is worked out from its inputs.
    assert surge_frequency_hz(4.25, 34.0, 13.945, 84_000.0, 7.8) == pytest.approx(97.40, abs=0.05)


def test_8_3_rate_and_permitted_load():
    assert wahl_factor(6.0) == pytest.approx(1.2525, abs=1e-5)
    assert rate_n_per_mm(3.0, 18.0, 15.0, 84_000.0) == pytest.approx(9.722222, abs=1e-6)
    stress_per_newton = wahl_factor(6.0) * uncorrected_shear_stress_mpa(1.0, 3.0, 18.0)
    assert 650.0 / stress_per_newton == pytest.approx(305.694, abs=1e-3)
    assert 40.0 * stress_per_newton == pytest.approx(85.05, abs=0.01)


@pytest.mark.parametrize(
    ("factor", "load_n", "deflection_per_coil_mm"),
    [(direct_shear_factor, 412.334, 9.9541), (wahl_factor, 382.486, 9.2336)],
)
def test_8_12_load_at_350_mpa(factor, load_n, deflection_per_coil_mm):
    wire_mm, mean_diameter_mm = 6.0, 75.0 - 6.0  # the example states the outside diameter
    stress_per_newton = factor(mean_diameter_mm / wire_mm) * uncorrected_shear_stress_mpa(
        1.0, wire_mm, mean_diameter_mm
    )
    load = 350.0 / stress_per_newton
    assert load == pytest.approx(load_n, abs=1e-3)
    assert load / rate_n_per_mm(wire_mm, mean_diameter_mm, 1.0, 84_000.0) == pytest.approx(
        deflection_per_coil_mm, abs=1e-3
    )
