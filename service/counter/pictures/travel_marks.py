"""Where a wheel goes and what ends its way, as heights: the arch-to-hub of each, read off a verdict record."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from service.engine.words import JOINTS

Record = Mapping[str, Any]
POSITIONS = ("full_droop", "ride", "bump_contact", "full_bump")
COVERAGE = 2.0
"""A record's plus_minus is the expanded uncertainty, k = 2."""
STOPPED_BY = {"coil_bind": ("coil_solid", "spring"), "damper_bottoming": ("damper_closed", "damper")}
SPAN_OF = {"coil_bind": "seat_gap_mm", "damper_bottoming": "damper_length_mm"}


@dataclass(frozen=True, slots=True)
class Mark:
    """A height below the arch mark, of a position or of an end of the travel.

    An end also has the ``outcome`` of its check, and by how much travel the wheel is taken past it, mm: negative where
    it is not.
    """

    name: str
    height_mm: float
    plus_minus_mm: float
    outcome: str = ""
    in_bump: bool = False
    passed_by_mm: float = 0.0


def positions(record: Record) -> dict[str, Mark]:
    """The positions that are known, by name."""
    return {
        each["at"]: Mark(each["at"], each["arch_to_hub_mm"]["value"], each["arch_to_hub_mm"]["plus_minus"])
        for each in record["positions"]
        if each["at"] in POSITIONS and each["arch_to_hub_mm"] is not None
    }


def ends(record: Record) -> list[Mark]:
    """What ends the travel, by its height where the record tells it: coil, damper, joints and hoses."""
    return [*_hard_stops(record), *_joints(record)]


def _hard_stops(record: Record) -> Iterator[Mark]:
    reached = positions(record)
    for check in record["checks"]:
        if check["check"] in STOPPED_BY and check["quantity"] != "wheel_travel_mm" and check["margin"] is not None:
            name, by = STOPPED_BY[check["check"]]
            height = _met_first(record, by) or _where_it_ends(record, check)
            place = reached.get(check["at"])
            if height is not None and place is not None:
                passed_by = height[0] - place.height_mm
                yield Mark(name, *height, check["outcome"], in_bump=True, passed_by_mm=passed_by)


def _met_first(record: Record, by: str) -> tuple[float, float] | None:
    contact = record["first_hard_contact"]
    if contact["by"] != by or contact["arch_to_hub_mm"] is None:
        return None
    return contact["arch_to_hub_mm"]["value"], contact["arch_to_hub_mm"]["plus_minus"]


def _where_it_ends(record: Record, check: Mapping[str, Any]) -> tuple[float, float] | None:
    """The height at which the coil is solid or the damper closed, and its uncertainty.

    span |      .    h: straight between the positions that the record tells, and on beyond full bump with the
         |    .      last of their slopes: the margin over the slope is the wheel travel that is left
         +-------- h
    """
    known = sorted(
        (each["arch_to_hub_mm"]["value"], each[SPAN_OF[check["check"]]]["value"], each["at"])
        for each in record["positions"]
        if each["arch_to_hub_mm"] and each.get(SPAN_OF[check["check"]])
    )
    there = next((span for _, span, at in known if at == check["at"]), None)
    if there is None or len(known) < 2:
        return None
    ended = there - check["margin"]
    pairs = list(pairwise(known))
    (low_height, low, _), (high_height, high, _) = next(
        (pair for pair in pairs if pair[0][1] <= ended <= pair[1][1]), pairs[0]
    )
    slope = (high - low) / (high_height - low_height)
    if slope <= 0.0:
        return None
    return low_height + (ended - low) / slope, COVERAGE * check["standard_uncertainty"] / slope


def _joints(record: Record) -> Iterator[Mark]:
    """Joints whose end was found with a tape; one that ends at an angle has its place among the margins."""
    reached = positions(record)
    for check in record["checks"]:
        place = reached.get(check["at"])
        if check["check"] in JOINTS and check["quantity"] == "arch_to_hub_mm" and check["margin"] is not None:
            whole = COVERAGE * check["standard_uncertainty"]
            own = math.sqrt(max(0.0, whole**2 - (place.plus_minus_mm**2 if place else 0.0)))
            in_bump = check["at"] == "full_bump"
            yield Mark(check["check"], check["limit"], own, check["outcome"], in_bump, -check["margin"])
