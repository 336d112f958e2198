"""Positions over the whole travel against SciPy's root finder on five equations, on random geometries."""

import five_equations
import numpy as np
import pytest
from hard_points import MACPHERSON, TRAVEL_RAD, WISHBONE, row_of, scattered

from service.engine.linkage import solve_macpherson, solve_wishbone

ROWS = 20
LAYOUTS = {
    "wishbone": (WISHBONE, solve_wishbone, five_equations.of_wishbone),
    "macpherson": (MACPHERSON, solve_macpherson, five_equations.of_macpherson),
}


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("way", ["bump", "droop"])
def test_upright(layout, way):
    about, solve, equations = LAYOUTS[layout]
    points = scattered(about, ROWS, seed=11)
    angles = np.sort(TRAVEL_RAD[TRAVEL_RAD >= 0.0]) if way == "bump" else -np.sort(-TRAVEL_RAD[TRAVEL_RAD <= 0.0])
    pose = solve(points, angles)
    assert pose.reachable.all()
    for row in range(ROWS):
        own = row_of(points, row)
        unknowns = five_equations.at_design(own)
        for position in range(len(angles)):
            centre_mm = pose.wheel_centre[row, position]
            unknowns = five_equations.solved(equations, own, centre_mm[2], unknowns)
            assert centre_mm[:2] == pytest.approx(1000.0 * unknowns[:2], abs=1e-6)
            rotation = five_equations.rotation_of(unknowns)
            assert np.abs(pose.upright.rotation[row, position] - rotation).max() < 1e-8
