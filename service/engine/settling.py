"""Builds on one axle settled: by themselves, or as one outfit under many loads.

What parts on an axle do at the ends of its travel is the same whatever is on board. Where one outfit is asked about
again, that is kept, and only what depends on the load is worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.brought import OF_A_LOAD, brought_by
from service.engine.build import Build, Outfit
from service.engine.checks import OF_LOAD, OF_OUTFIT, Check, Situation
from service.engine.decided import decided, reduced
from service.engine.followers import followed_of
from service.engine.places import NAMES, RIDE
from service.engine.positions import Positions, laden_positions, positions_of
from service.engine.rows import Rows
from service.engine.sensitivity import Array
from service.engine.settled import Settled, SettledPositions


@dataclass(frozen=True, slots=True)
class SettledOutfit:
    """One outfit: where its row stands with nothing on board, and what is found of it whatever is."""

    unladen: Situation
    settled: Settled


def settle(builds: Sequence[Build]) -> Settled:
    """Some builds on one axle."""
    with _numbers_that_may_be_missing():
        rows = Rows(brought_by(builds))
        at = Situation(rows, *positions_of(rows))
        return _settled(builds, at, OF_OUTFIT, OF_LOAD, _settled_positions(at))


def settle_outfit(outfit: Outfit) -> SettledOutfit:
    """What one outfit is found to do whatever is on board."""
    unladen = Build(outfit)
    with _numbers_that_may_be_missing():
        rows = Rows(brought_by([unladen]), beside=OF_A_LOAD)
        at = Situation(rows, *positions_of(rows))
        return SettledOutfit(at, _settled([unladen], at, OF_OUTFIT, (), _settled_positions(at)))


def settle_laden(outfit: SettledOutfit, builds: Sequence[Build]) -> Settled:
    """Some builds that are one outfit under loads."""
    with _numbers_that_may_be_missing():
        at = outfit.unladen
        rows = at.rows.under(builds)
        laden = Situation(rows, laden_positions(rows, at.build, at.factory), at.factory)
        positions = _at_other_rides(laden, outfit.settled.positions)
        return outfit.settled.under(_settled(builds, laden, (), OF_LOAD, positions))


def _numbers_that_may_be_missing() -> np.errstate:
    return np.errstate(invalid="ignore", divide="ignore", over="ignore")


def _settled(
    builds: Sequence[Build],
    at: Situation,
    of_outfit: Sequence[Check],
    of_load: Sequence[Check],
    positions: SettledPositions,
) -> Settled:
    rows, findings = at.rows, [finding for check in of_outfit for finding in check(at)]
    count = len(findings)
    findings += [finding for check in of_load for finding in check(at)]
    result = decided(findings, rows)
    return Settled(
        tuple(builds), result.headings, tuple(tuple(f.details) for f in findings),
        _as_read([q for f in findings for q in (f.value, f.limit, *f.details.values())], len(builds)),
        result.codes, result.by_bound, result.by_factory, result.judged, result.spreads,
        result.shares, rows.readings, result.verdict, positions, count,
    )  # fmt: skip


def _as_read(quantities: Sequence[Array], count: int) -> Array:
    table = np.empty((len(quantities), count))
    for place, quantity in zip(table, quantities, strict=True):
        place[:] = quantity[:, 0]
    return table


def _settled_positions(at: Situation) -> SettledPositions:
    build, rows = at.build, at.rows
    quantities = [at_one for quantity in _at_each(build) for at_one in quantity]
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


def _at_other_rides(at: Situation, unladen: SettledPositions) -> SettledPositions:
    """Positions of an outfit under loads, which are those that it has without but for the ride height."""
    at_ride, stance = [quantity[RIDE] for quantity in _at_each(at.build)], _stance(at.build, at.rows)
    values, spreads = reduced([at.build.lift_mm, *at_ride, *stance[RIDE :: len(NAMES)]], at.rows)
    return unladen.at_other_rides(values, spreads)


def _at_each(build: Positions) -> tuple[Array, ...]:
    return build.arch_to_hub_mm, build.seat_gap_mm, build.damper_length_mm, build.motion_ratio, build.spring_force_n


def _stance(build: Positions, rows: Rows) -> Array:
    """Camber and toe at the four positions, one after the other; nothing on an axle that was not surveyed."""
    surveyed = rows.axle.travel.surveyed
    return build.followers if surveyed is None else build.followers[followed_of(surveyed.angles.names).stance :]
