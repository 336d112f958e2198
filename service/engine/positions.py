"""The four positions of the wheel in a build: full droop, ride, bump contact and full bump.

  arch mark ---
             |        h grows downwards
full bump    |  h_f   the stop is crushed to its crushed height
bump contact |  h_b   the stop just touches
ride         |  h_r   springs against weight
full droop   v  h_d   the strut is out to its extended length, or the strap is taut
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.engine.axle import CompiledAxle
from service.engine.build import factory_build
from service.engine.ride import balanced_height, spring_force_n
from service.engine.rows import Rows
from service.engine.sensitivity import Array

FULL_DROOP, RIDE, BUMP_CONTACT, FULL_BUMP = range(4)
NAMES = ("full_droop", "ride", "bump_contact", "full_bump")

MOVED = (
    "arch_to_hub_mm", "seat_gap_mm", "damper_length_mm", "motion_ratio", "spring_force_n",
    "lift_mm", "balance_mm", "solid_at_mm", "closed_at_mm",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Positions:
    """Arrays (4, n, K) in the order of ``NAMES``, not-a-number where a position cannot be placed.

    ``lift_mm`` (n, K) against the factory at kerb; ``balance_mm`` the ride that the force balance alone gives;
    ``solid_at_mm`` and ``closed_at_mm`` (n, K) the arch-to-hub where the coil goes solid and the damper closes;
    ``strap_taut`` (n,) where a limit strap, not the strut, ends the droop.
    """

    arch_to_hub_mm: Array
    seat_gap_mm: Array
    damper_length_mm: Array
    motion_ratio: Array
    spring_force_n: Array
    lift_mm: Array
    balance_mm: Array
    solid_at_mm: Array
    closed_at_mm: Array
    strap_taut: NDArray[np.bool_]

    def of(self, rows: Rows) -> Positions:
        """These positions of the factory axle, one row, over the columns of other rows."""
        column = rows.curve_column
        moved = {name: getattr(self, name).take(column, axis=-1) for name in MOVED}
        return replace(self, **moved)


def factory_positions(axle: CompiledAxle) -> Positions:
    """The positions of the axle as it left the factory, at kerb; one row, kept with the axle."""
    if "factory" not in axle.kept:
        axle.kept["factory"] = _place(Rows([factory_build(axle)]), None)
    kept = axle.kept["factory"]
    assert isinstance(kept, Positions)  # noqa: S101 - one kind of value is kept under this name
    return kept


def positions_of(rows: Rows) -> tuple[Positions, Positions]:
    """The positions of the builds in ``rows`` and those of their factory axle, over the same columns."""
    factory = factory_positions(rows.axle).of(rows)
    return _place(rows, factory), factory


def _place(rows: Rows, factory: Positions | None) -> Positions:
    curve, column = rows.axle.travel.curve, rows.curve_column
    droop, contact, bump, solid, closed = _stop_spans(rows)
    by_strut, rod_contact, rod_bump, solid_at, closed_at = curve.where(
        np.stack(np.broadcast_arrays(droop, contact, bump, solid, closed)), column
    )
    strap = rows["strap"] if rows.axle.travel.anchored else np.full_like(by_strut[:1], np.inf)
    full_droop = np.where(np.isnan(by_strut) & np.isfinite(strap), strap, np.fmin(by_strut, strap))
    if rows.axle.axle.bump_stop_on_rod:
        bump_contact, full_bump = rod_contact, rod_bump
    else:
        bump_contact = rows["contact_height"] + _stop_growth(rows) / rows["bump_stop_ratio"]
        full_bump = bump_contact - rows.crush / rows["bump_stop_ratio"]
    bump_contact, full_bump = (h + np.zeros_like(by_strut) for h in (bump_contact, full_bump))
    ride, lift, balance = _ride(rows, factory, bump_contact, full_droop)
    heights = np.stack(np.broadcast_arrays(full_droop, ride, bump_contact, full_bump))
    on = curve.at(heights, column)
    span = on.span_mm
    taut = strap[:, 0] < by_strut[:, 0]
    # At a strut-limited droop the span is the strut's own, not the curve's read back, so that what is shared cancels.
    span[FULL_DROOP] = np.where(taut[:, None] | np.isnan(by_strut), span[FULL_DROOP], droop)
    gap = span + rows.span_to_seat
    force = np.stack([spring_force_n(rows, at) for at in gap])
    return Positions(
        heights, gap, span + rows.span_to_damper, on.motion_ratio, force,
        lift, balance, solid_at, closed_at, taut,
    )  # fmt: skip


def _stop_spans(rows: Rows) -> tuple[Array, ...]:
    """Spans of the curve at which the build's strut is extended, its stop touches and is crushed (on the rod), its coil
    is solid, its damper closed.
    """
    to_damper = rows.span_to_damper
    extended = np.where(rows.changed("strut"), rows["extended"] - to_damper, rows["droop_span"] + rows["top_spacer"])
    shorter = np.where(rows.changed("strut"), rows["closed"] - rows.spread(rows.axle.quantities["closed"]), 0.0)
    contact = rows["contact_span"] + _stop_growth(rows) + shorter + rows["top_spacer"]
    return extended, contact, contact - rows.crush, rows.solid_length - rows.span_to_seat, rows["closed"] - to_damper


def _stop_growth(rows: Rows) -> Array:
    """How much sooner the build's bump stop touches than the factory's, mm along the stop."""
    taller = rows["stop_free"] - rows.spread(rows.axle.quantities["stop_free"])
    return np.where(rows.changed("bump_stop"), taller, 0.0) + rows["stop_spacer"]


def _ride(rows: Rows, factory: Positions | None, lowest: Array, highest: Array) -> tuple[Array, Array, Array]:
    """Ride height, lift and the balance alone, (n, K) each, mm.

    The balance is anchored on the measured ride: ride = measured + (balance of the build - balance of the factory). A
    build that keeps spring, strut force and load needs no balance: the spring's length stays, the spacers move it.
    """
    balance = balanced_height(rows, lowest, highest)
    measured = rows["ride_height"]
    if factory is None:
        ride = np.where(np.isnan(measured), balance, measured)
        return ride, np.zeros_like(ride) * ride, balance
    factory_ride = factory.arch_to_hub_mm[RIDE]
    by_difference = factory_ride + balance - factory.balance_mm
    ride = np.where(np.isnan(by_difference), balance, by_difference)
    untouched = ~rows.changed("coil_spring") & ~rows.changed("strut") & ~rows.loaded & np.isnan(ride)
    if untouched.any():
        moved = rows["ride_span"] + rows.spread(rows.axle.travel.seat_from_span) - rows.span_to_seat
        ride = np.where(untouched, rows.axle.travel.curve.where(moved, rows.curve_column), ride)
    ride = np.where(ride < lowest, lowest, np.where(ride > highest, highest, ride))
    return ride, ride - factory_ride, balance
