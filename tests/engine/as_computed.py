"""Margins and positions before they are rounded and put into words: as read, and with each reading moved."""

import numpy as np

from service.engine.brought import brought_by
from service.engine.checks import CHECKS, Situation
from service.engine.places import NAMES
from service.engine.positions import positions_of
from service.engine.rows import Rows
from service.engine.sensitivity import combined_standard_uncertainty

AT_EACH = ("arch_to_hub_mm", "seat_gap_mm", "damper_length_mm", "motion_ratio", "spring_force_n")


def quantities(builds) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Name -> (n, K), of builds on one axle, and the weights of the columns."""
    with np.errstate(all="ignore"):
        rows = Rows(brought_by(builds))
        build, factory = positions_of(rows)
        findings = [finding for check in CHECKS for finding in check(Situation(rows, build, factory))]
    named = {f"{f.label.check} {f.label.case} at {f.label.at}".replace("  ", " "): f.margin for f in findings}
    for place, at in enumerate(NAMES):
        named |= {f"{quantity} at {at}": getattr(build, quantity)[place] for quantity in AT_EACH}
    named["lift_mm"] = build.lift_mm
    shape = (len(builds), rows.weights.shape[1] + 1)
    return {name: np.broadcast_to(quantity, shape) for name, quantity in named.items()}, rows.weights


def first_order(build) -> dict[str, tuple[float, float]]:
    """Name -> estimate and standard uncertainty of everything that is known of a build."""
    named, weights = quantities([build])
    spreads = combined_standard_uncertainty(np.stack(list(named.values())), weights)[:, 0]
    return {
        name: (float(quantity[0, 0]), float(spread))
        for (name, quantity), spread in zip(named.items(), spreads, strict=True)
        if np.isfinite(quantity[0, 0])
    }
