"""Builds on one axle settled: by themselves, or as one outfit under many loads.

What parts on an axle do at the ends of its travel is the same whatever is on board. Where one outfit is asked about
again, that is kept, and only what depends on the load is worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.brought import brought_by
from service.engine.build import Build, Outfit
from service.engine.checks import OF_LOAD, OF_OUTFIT, Check, Situation
from service.engine.decided import decided, reduced
from service.engine.followers import followed_of
from service.engine.positions import Ends, Positions, laden_positions, positions_of
from service.engine.rows import LadenRows, Rows
from service.engine.sensitivity import Array
from service.engine.settled import Settled, SettledPositions


@dataclass(frozen=True, slots=True)
class SettledOutfit:
    """One outfit: its row, the ends of its travel, and what is found of it whatever is on board."""

    rows: Rows
    ends: Ends
    settled: Settled


def settle(builds: Sequence[Build]) -> Settled:
    """Some builds on one axle."""
    with _numbers_that_may_be_missing():
        rows = Rows(brought_by(builds))
        return _settled(builds, Situation(rows, *positions_of(rows)), OF_OUTFIT, OF_LOAD)


def settle_outfit(outfit: Outfit) -> SettledOutfit:
    """What one outfit is found to do whatever is on board."""
    unladen = Build(outfit)
    with _numbers_that_may_be_missing():
        rows = Rows(brought_by([unladen]))
        at = Situation(rows, *positions_of(rows))
        return SettledOutfit(rows, at.build.ends, _settled([unladen], at, OF_OUTFIT, ()))


def settle_laden(outfit: SettledOutfit, builds: Sequence[Build]) -> Settled:
    """Some builds that are one outfit under loads."""
    with _numbers_that_may_be_missing():
        rows = LadenRows(outfit.rows, builds)
        of_load = _settled(builds, Situation(rows, *laden_positions(rows, outfit.ends)), (), OF_LOAD)
        return outfit.settled.under(of_load)


def _numbers_that_may_be_missing() -> np.errstate:
    return np.errstate(invalid="ignore", divide="ignore", over="ignore")


def _settled(builds: Sequence[Build], at: Situation, of_outfit: Sequence[Check], of_load: Sequence[Check]) -> Settled:
    rows, findings = at.rows, [finding for check in of_outfit for finding in check(at)]
    count = len(findings)
    findings += [finding for check in of_load for finding in check(at)]
    result = decided(findings, rows)
    return Settled(
        tuple(builds), result.headings, tuple(tuple(f.details) for f in findings),
        _as_read([q for f in findings for q in (f.value, f.limit, *f.details.values())], len(builds)),
        result.codes, result.by_bound, result.by_factory, result.judged, result.spreads,
        result.shares, rows.readings, result.verdict, _settled_positions(at.build, rows), count,
    )  # fmt: skip


def _as_read(quantities: Sequence[Array], count: int) -> Array:
    table = np.empty((len(quantities), count))
    for place, quantity in zip(table, quantities, strict=True):
        place[:] = quantity[:, 0]
    return table


def _settled_positions(build: Positions, rows: Rows) -> SettledPositions:
    four = (build.arch_to_hub_mm, build.seat_gap_mm, build.damper_length_mm, build.motion_ratio, build.spring_force_n)
    quantities = [at for quantity in four for at in quantity]
    singles = [
        build.lift_mm,
        build.ends.solid_at_mm,
        build.ends.closed_at_mm,
        rows.crush,
        rows["free_length"],
        rows["bump_stop_ratio"],
        *build.ends.articulated_mm,
    ]
    stance = _stance(build, rows)
    values, spreads = reduced([*quantities, *singles, *stance], rows)
    return SettledPositions(
        values[:20].reshape(5, 4, -1), spreads[:20].reshape(5, 4, -1), values[20:28], spreads[20:28],
        values[28:].reshape(-1, 4, values.shape[1]), spreads[28:].reshape(-1, 4, values.shape[1]),
    )  # fmt: skip


def _stance(build: Positions, rows: Rows) -> Array:
    """Camber and toe at the four positions, one after the other; nothing on an axle that was not surveyed."""
    surveyed = rows.axle.travel.surveyed
    return build.followers if surveyed is None else build.followers[followed_of(surveyed.angles.names).stance :]
