"""How long the spatial linkage takes, and how much less than a root finder on the same linkage's five equations.

    python tests/benchmarks/linkage.py [--rounds 5]

Microseconds of processor time per position, the best of several rounds. The root finder goes from position to position,
its first guess always the one before.
"""

import argparse
import sys
from functools import partial
from pathlib import Path

import numpy as np
from processor_time import best

from service.engine.linkage import solve_macpherson, solve_wishbone

sys.path.append(str(Path(__file__).parents[1] / "engine" / "linkage"))

import five_equations  # lives beside the tests that hold it against the same solvers
from hard_points import MACPHERSON, WISHBONE, scattered

ONE_BY = 50
BULK_ROWS, BULK_BY = 70, 64
"""An axle's hard points as read and once more for each coordinate, in the positions of a travel curve."""

BUMP_RAD = np.radians(14.0)
LAYOUTS = {
    "wishbone": (solve_wishbone, WISHBONE, five_equations.of_wishbone),
    "macpherson": (solve_macpherson, MACPHERSON, five_equations.of_macpherson),
}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5, help="repeats of which the best counts")
    rounds = parser.parse_args().rounds
    for layout, (solve, points, equations) in LAYOUTS.items():
        one, many = np.linspace(0.0, BUMP_RAD, ONE_BY), np.linspace(0.0, BUMP_RAD, BULK_BY)
        rows = scattered(points, BULK_ROWS, seed=1, half_width_mm=1.0)
        heights_mm = solve(points, one).wheel_centre[:, 2]
        alone = best_us(partial(solve, points, one), rounds) / ONE_BY
        bulk = best_us(partial(solve, rows, many), rounds) / (BULK_ROWS * BULK_BY)
        roots = best_us(partial(found_by_roots, equations, points, heights_mm), rounds) / ONE_BY
        show(f"{layout}, 1 geometry in {ONE_BY} positions", alone, "us")
        show(f"{layout}, {BULK_ROWS} geometries in {BULK_BY} positions", bulk, "us")
        show(f"{layout}, scipy.optimize.root", roots, "us")
        show(f"{layout}, root finder / one geometry", roots / alone, "x")
        show(f"{layout}, root finder / many geometries", roots / bulk, "x")


def found_by_roots(equations, points, heights_mm):
    unknowns = five_equations.at_design(points)
    for height_mm in heights_mm:
        unknowns = five_equations.solved(equations, points, height_mm, unknowns)


def best_us(step, rounds):
    """Microseconds of one call."""
    return 1e6 * best(step, rounds)


def show(name, value, unit):
    print(f"{name:<50}{value:>12,.2f} {unit}", flush=True)


if __name__ == "__main__":
    main()
