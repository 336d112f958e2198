"""How far the factory strut lets the wheel hang: by its length, and by where the wheel was taped at full droop."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import NamedTuple

import numpy as np

from service.engine.decision import NOTHING
from service.engine.envelope import AxleEnvelope
from service.engine.layouts import LAYOUTS
from service.engine.sensitivity import Array
from service.engine.stations import TravelCurves, compile_travel

DROOP_DISAGREEMENT_MM = 6.0
"""Beyond the taped half-widths of the readings that meet here (common practice)."""


def _span_by_strut(moved: Mapping[str, Array], travel: TravelCurves) -> Array:
    return np.asarray(moved["extended"] - travel.damper_from_span)


def droop_doubt(envelope: AxleEnvelope, readings: Mapping[str, tuple[float, float]]) -> float:
    """By how much a wheel was taped to hang lower, mm of strut, than the factory strut's extended length lets it.

    A half-width that covers both; where they lie further apart the taped one is used instead. None where the wheel was
    taped to hang higher: the length is what holds then.
    """
    if envelope.travel.hard_points is not None or np.isnan(readings["extended"][0]):
        return 0.0
    as_read = {name: np.array([value]) for name, (value, _) in readings.items()}
    travel = compile_travel(envelope, as_read)
    lower = float((travel.points["full_droop"].span_mm - _span_by_strut(as_read, travel))[0])
    return lower if NOTHING < lower <= DROOP_DISAGREEMENT_MM else 0.0


class FactoryDroop(NamedTuple):
    """Where the factory strut ends the droop; arrays (C,), mm.

    ``span_mm`` is its span there, ``lower_mm`` how much of it the wheel was taped to hang lower than the strut's length
    lets it. ``proven_mm`` is the arch-to-hub beyond which nobody saw the wheel, though that length would let it go
    there; infinite where the two do not contradict each other.
    """

    span_mm: Array
    lower_mm: Array
    proven_mm: Array
    notes: tuple[str, ...] = ()


def factory_droop(envelope: AxleEnvelope, moved: Mapping[str, Array], travel: TravelCurves) -> FactoryDroop:
    """By the factory strut's extended length where that is known, else as taped.

    Where the two contradict each other the one that lets the wheel hang lower: unknown never rounds up to safe. Leaves
    may end the droop before their damper does.
    """
    by_strut, taped = _span_by_strut(moved, travel), travel.points["full_droop"]
    anywhere = np.full_like(by_strut, inf)
    if np.isnan(by_strut[0]):
        return FactoryDroop(taped.span_mm, np.zeros_like(by_strut), anywhere)
    apart = by_strut[0] - taped.span_mm[0]
    slack = LAYOUTS[envelope.layout].spring == "leaf" and apart > 0.0
    if slack or not abs(apart) > DROOP_DISAGREEMENT_MM:
        return FactoryDroop(by_strut + moved["droop_doubt"], moved["droop_doubt"], anywhere)
    note = (
        f"By the factory strut's extended length the wheel hangs {abs(apart):.1f} mm of strut "
        f"{'lower' if apart > 0.0 else 'higher'} than it was taped at full droop: one of the two readings is wrong, or "
        "something else holds the wheel. The lower one was used."
    )
    if apart > 0.0:
        return FactoryDroop(by_strut, np.zeros_like(by_strut), taped.arch_to_hub_mm, (note,))
    return FactoryDroop(taped.span_mm, taped.span_mm - by_strut, anywhere, (note,))
