"""The sprung weight on one wheel at kerb: by the scales, else what the factory spring carries at the taped ride."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from service.engine.envelope import AxleEnvelope
from service.engine.layouts import LAYOUTS
from service.engine.loads import STANDARD_GRAVITY
from service.engine.policy import Policy
from service.engine.sensitivity import Array
from service.engine.slots import force_points
from service.engine.springs import force_n, table_of_points
from service.engine.stations import TravelCurves

DISAGREEMENT = 0.15
"""Share of the weight beyond which spring and scales contradict each other (common practice)."""


def sprung_weight(
    envelope: AxleEnvelope, policy: Policy, quantities: Mapping[str, Array], travel: TravelCurves
) -> tuple[Array, list[str]]:
    """Weight in N, (C,), and what is odd about it.

    weight = (axle mass / 2 - unsprung mass of the wheel) g  =  (spring force + gas force) x motion ratio
    """
    by_scales = (0.5 * quantities["axle_kg"] - quantities["unsprung_kg"]) * STANDARD_GRAVITY
    by_spring = _carried_by_spring(envelope, policy, quantities, travel)
    if np.isnan(by_scales[0]):
        return by_spring, []
    note = (
        f"At the taped ride the factory spring as given carries {by_spring[0]:.0f} N, but by the axle's mass the wheel "
        f"bears {by_scales[0]:.0f} N: a reading of the spring, the ride station or the masses is off."
    )
    return by_scales, [note] if abs(by_spring[0] - by_scales[0]) > DISAGREEMENT * by_scales[0] else []


def _carried_by_spring(
    envelope: AxleEnvelope, policy: Policy, quantities: Mapping[str, Array], travel: TravelCurves
) -> Array:
    columns = np.arange(len(quantities["ride_height"]))
    # Leaves and torsion bars are anchored on the weight, not the other way round.
    if LAYOUTS[envelope.layout].spring != "coil":
        return np.full(len(columns), np.nan)
    seat = travel.seat.at(quantities["ride_height"], columns)
    gas_ratio = travel.damper.at(quantities["ride_height"], columns).motion_ratio
    table = table_of_points(force_points(envelope.fitted.spring, policy))
    deflection = quantities["free_length"] - seat.span_mm - travel.seat_from_span
    force = quantities["force_scale"] * force_n(deflection[None, :], table)[0]
    return np.asarray(force * seat.motion_ratio + quantities["gas_force"] * gas_ratio)
