"""Beer, Johnston and DeWolf, Mechanics of Materials, ch. 3. From a worked companion; the book itself was not read.

One tube throughout: 60 mm outside, 40 mm inside, 1.5 m long, G = 77 GPa.
"""

import numpy as np
import pytest

from service.engine.springs import shear_stress_of_bar_mpa, torsional_stiffness_n_mm_per_rad

TUBE_MM = (60.0, 40.0)


def stiffness_n_mm_per_rad():
    return torsional_stiffness_n_mm_per_rad(60.0, 1_500.0, 77_000.0, 40.0)


def test_3_01_torque_at_120_mpa():
    # The stress is proportional to the torque: that which makes 120 MPa outside, 4.08407 kN m.
    assert 120.0 / shear_stress_of_bar_mpa(1.0, *TUBE_MM) == pytest.approx(4.084070e6, rel=1e-5)


def test_3_02_torque_for_two_degrees_of_twist():
    assert stiffness_n_mm_per_rad() * np.radians(2.0) == pytest.approx(1.8295e6, rel=1e-4)


def test_3_03_twist_at_70_mpa_on_the_inside():
    # Shear stress grows with the radius: 70 MPa at 40 mm is 105 MPa at 60 mm.
    torque = 70.0 * 60.0 / 40.0 / shear_stress_of_bar_mpa(1.0, *TUBE_MM)
    assert np.degrees(torque / stiffness_n_mm_per_rad()) == pytest.approx(3.90653, abs=1e-5)
