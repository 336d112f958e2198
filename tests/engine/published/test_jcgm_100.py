"""JCGM 100:2008 (GUM), annex H, and examples built on it: first-order propagation with the engine's columns.

Inputs and published results read in secondary documents that quote the annex (public test suites, GTC's
documentation), not in the guide itself.
"""

import numpy as np
import pytest

from service.engine.sensitivity import combined_standard_uncertainty, spread

ROOT_3 = 3.0**0.5


def combined(result, columns):
    return combined_standard_uncertainty(np.array(result)[None, None, :], columns.weights)[0, 0]


def test_h_1_end_gauge():
    """H.1: l = l_s + d - l_s (d_alpha theta + alpha d_theta); published u_c = 32 nm, unrounded 31.664.

    The engine's readings are rectangular: a reading with standard uncertainty u has the half-width u sqrt(3).
    """
    nm = 1e-6
    columns = spread(
        {
            "standard_mm": (50.000623, 25 * nm * ROOT_3),
            "difference_mm": (215 * nm, 9.7 * nm * ROOT_3),
            "alpha": (11.5e-6, 2e-6),
            "theta": (-0.1, 0.41 * ROOT_3),
            "alpha_difference": (0.0, 1e-6),
            "theta_difference": (0.0, 0.05),
        }
    )
    m = columns.moved
    length = (
        m["standard_mm"]
        + m["difference_mm"]
        - m["standard_mm"] * (m["alpha_difference"] * m["theta"] + m["alpha"] * m["theta_difference"])
    )
    assert length[0] == pytest.approx(50.000838, abs=5e-10)
    assert combined(length, columns) / nm == pytest.approx(31.664, abs=0.01)


def test_eurachem_citac_a1():
    """QUAM example A1, by GTC's documentation: c = 1000 m P / V = 1002.70, u = 0.835199."""
    volume = (0.1 / 6**0.5) ** 2 + 0.02**2 + (0.084 / ROOT_3) ** 2
    columns = spread({"m": (100.28, 0.05 * ROOT_3), "p": (0.9999, 0.0001), "v": (100.0, volume**0.5 * ROOT_3)})
    m = columns.moved
    concentration = 1000.0 * m["m"] * m["p"] / m["v"]
    assert concentration[0] == pytest.approx(1002.70, abs=0.005)
    assert combined(concentration, columns) == pytest.approx(0.835199, rel=1e-5)


def test_nist_tn_1900_e13():
    """NIST TN 1900 example E13, inputs by a secondary document, result recomputed: the shape of a travel ratio."""
    columns = spread(
        {
            "l0": (1.4999, 1e-4 * ROOT_3),
            "t0": (288.15, 0.02 * ROOT_3),
            "l1": (1.5021, 2e-4 * ROOT_3),
            "t1": (373.10, 0.05 * ROOT_3),
        }
    )
    m = columns.moved
    expansion = (m["l1"] - m["l0"]) / (m["l0"] * (m["t1"] - m["t0"]))
    assert expansion[0] == pytest.approx(1.726621e-5, rel=1e-5)
    assert combined(expansion, columns) == pytest.approx(1.755477e-6, rel=1e-5)
