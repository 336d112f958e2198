"""The positions of the wheel in a build: full droop, ride, bump contact and full bump.

arch mark ---
|        h grows downwards
full bump    |  h_f   the stop is crushed to its crushed height
bump contact |  h_b   the stop just touches
ride         |  h_r   springs against weight
full droop   v  h_d   the damper is out to its extended length, the leaves hang, or the strap is taut
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.axle import CompiledAxle
from service.engine.brought import brought_by
from service.engine.build import factory_build
from service.engine.factory_droop import DROOP_DISAGREEMENT_MM
from service.engine.followers import followers
from service.engine.loads import STANDARD_GRAVITY
from service.engine.places import FULL_DROOP, RIDE
from service.engine.ride import balanced_height
from service.engine.rows import Rows
from service.engine.sensitivity import Array, stacked
from service.engine.travel import OnCurve
from service.engine.wheel_force import spring_force_n


@dataclass(frozen=True, slots=True)
class Ends:
    """What ends the travel, whatever is on board; arrays (n, K), arch-to-hub in mm, not-a-number where there is none.

    Full droop, bump contact and full bump are the positions; ``unlocked_bump_mm`` is full bump as if a surveyed linkage
    did not lock. ``leaf_droop_mm`` and ``damper_droop_mm`` are where leaves hang by themselves and where the damper is
    extended; ``by_damper_alone`` (n, 1) tells where the damper ends the droop, at ``extended_mm``, a span of its curve.
    ``solid_at_mm`` and ``closed_at_mm`` are where the spring goes solid and the damper closes; ``articulated_mm``
    (2, n, K) the lower and the upper wheel of a solid axle with one spring at full droop and the other at full bump.
    """

    full_droop_mm: Array
    bump_contact_mm: Array
    full_bump_mm: Array
    unlocked_bump_mm: Array
    leaf_droop_mm: Array
    damper_droop_mm: Array
    extended_mm: Array
    solid_at_mm: Array
    closed_at_mm: Array
    articulated_mm: Array
    by_damper_alone: NDArray[np.bool_]

    def over(self, column: NDArray[np.intp]) -> Ends:
        """These ends over other columns, each computed with one of theirs."""
        return replace(self, **{name: getattr(self, name).take(column, axis=-1) for name in ENDS})


ENDS = (
    "full_droop_mm", "bump_contact_mm", "full_bump_mm", "unlocked_bump_mm", "leaf_droop_mm", "damper_droop_mm",
    "extended_mm", "solid_at_mm", "closed_at_mm", "articulated_mm",
)  # fmt: skip


class AtEach(NamedTuple):
    """What spring and damper do at p wheel positions; arrays (p, n, K)."""

    arch_to_hub_mm: Array
    seat_gap_mm: Array
    damper_length_mm: Array
    motion_ratio: Array
    spring_force_n: Array


MOVED = (*AtEach._fields, "lift_mm", "balance_mm", "followers")


@dataclass(frozen=True, slots=True)
class Positions:
    """Arrays (4, n, K) in the order of ``NAMES``, not-a-number where a position cannot be placed.

    (n, K): ``lift_mm`` against the factory at kerb; ``balance_mm``, the ride that the force balance alone gives.
    ``followers`` (q, n, K) is what follows the wheel on a surveyed axle.
    """

    arch_to_hub_mm: Array
    seat_gap_mm: Array
    damper_length_mm: Array
    motion_ratio: Array
    spring_force_n: Array
    lift_mm: Array
    balance_mm: Array
    followers: Array
    ends: Ends

    def over(self, column: NDArray[np.intp]) -> Positions:
        """These positions over other columns, each computed with one of theirs."""
        moved = {name: getattr(self, name).take(column, axis=-1) for name in MOVED}
        return replace(self, **moved, ends=self.ends.over(column))


def factory_positions(axle: CompiledAxle) -> Positions:
    """The positions of the axle as it left the factory, at kerb; one row, kept with the axle."""
    if "factory" not in axle.kept:
        rows = Rows(brought_by([factory_build(axle)]))
        axle.kept["factory"] = _placed(rows, None, _ends(rows, None))
    kept = axle.kept["factory"]
    assert isinstance(kept, Positions)  # noqa: S101 - one kind of value is kept under this name
    return kept


def positions_of(rows: Rows) -> tuple[Positions, Positions]:
    """The positions of the builds in ``rows`` and those of their factory axle, over the same columns."""
    factory = factory_positions(rows.axle.factory).over(rows.curve_column)
    return _placed(rows, factory, _ends(rows, factory)), factory


def laden_positions(rows: Rows, unladen: Positions, factory: Positions) -> Positions:
    """The positions of one outfit under the loads of ``rows``; all but the ride height are where they are without."""
    ends = unladen.ends
    ride, lift, balance = _ride(rows, factory, ends.bump_contact_mm, ends.full_droop_mm)
    at_ride = _at_each(rows, ride[None], rows.axle.travel.damper.at(ride[None], rows.curve_column))
    at_each = AtEach(*(_with_ride(getattr(unladen, name), now) for name, now in at_ride._asdict().items()))
    return Positions(*at_each, lift, balance, _followers(rows, at_each.arch_to_hub_mm), ends)


def _with_ride(unladen: Array, at_ride: Array) -> Array:
    """A quantity at the four positions (4, 1, K) under n loads, with those that it has ``at_ride`` (1, n, K) then."""
    laden = unladen.repeat(at_ride.shape[1], axis=1)
    laden[RIDE] = at_ride[0]
    return laden


def _ends(rows: Rows, factory: Positions | None) -> Ends:
    travel, column = rows.axle.travel, rows.curve_column
    extended, rod_contact_span, closed = _damper_spans(rows)
    solid = rows.solid_length - rows.span_to_seat
    on_rod = (rod_contact_span, rod_contact_span - rows.crush) if rows.axle.axle.bump_stop_on_rod else ()
    by_damper, closed_at, solid_at, *bump = travel.damper.where(stacked(extended, closed, solid, *on_rod), column)
    if travel.seat is not travel.damper:
        solid_at = travel.seat.where(solid + np.zeros_like(by_damper), column)
    leaf_droop = _leaf_droop(rows, factory) + np.zeros_like(by_damper)
    full_droop, by_damper_alone = _full_droop(rows, by_damper, leaf_droop)
    bump_contact, full_bump = bump or (h + np.zeros_like(by_damper) for h in _at_a_stop_off_the_rod(rows))
    unlocked_bump = full_bump
    full_droop, full_bump = _up_to_the_lock(rows, full_droop, full_bump)
    return Ends(
        full_droop, bump_contact, full_bump, unlocked_bump, _finite(leaf_droop), by_damper, extended, solid_at,
        closed_at, _articulated(rows, full_droop, full_bump), by_damper_alone,
    )  # fmt: skip


def _placed(rows: Rows, factory: Positions | None, ends: Ends) -> Positions:
    """The wheel between the ends of its travel."""
    ride, lift, balance = _ride(rows, factory, ends.bump_contact_mm, ends.full_droop_mm)
    heights = stacked(ends.full_droop_mm, ride, ends.bump_contact_mm, ends.full_bump_mm)
    on_damper = rows.axle.travel.damper.at(heights, rows.curve_column)
    span = on_damper.span_mm
    # At a damper-limited droop the span is the damper's own, not the curve's read back, so that what is shared cancels.
    by_damper = ends.by_damper_alone & (ends.full_droop_mm == ends.damper_droop_mm)
    span[FULL_DROOP] = np.where(by_damper, ends.extended_mm, span[FULL_DROOP])
    return Positions(*_at_each(rows, heights, on_damper), lift, balance, _followers(rows, heights), ends)


def _at_each(rows: Rows, heights: Array, on_damper: OnCurve) -> AtEach:
    """What it does with the wheel at ``heights`` (p, n, K), where the damper's curve is known already."""
    travel = rows.axle.travel
    on_seat = on_damper if travel.seat is travel.damper else travel.seat.at(heights, rows.curve_column)
    gap = on_seat.span_mm + rows.span_to_seat
    length = on_damper.span_mm + rows.span_to_damper
    return AtEach(heights, gap, length, on_seat.motion_ratio, spring_force_n(rows, gap))


def _followers(rows: Rows, heights: Array) -> Array:
    surveyed = rows.axle.travel.surveyed
    return np.empty((0, *heights.shape[1:])) if surveyed is None else followers(surveyed, heights, rows.own)


def _damper_spans(rows: Rows) -> tuple[Array, Array, Array]:
    """Spans of the damper curve at which the damper is extended, at which a stop on its rod touches, and at which it is
    closed.

    A wheel that was taped to hang lower than the factory strut lets it hangs as much lower with another one, too.
    """
    to_damper = rows.span_to_damper
    as_kept = rows["droop_span"] + rows.spacer
    extended = np.where(rows.damper_changed, rows["extended"] - to_damper + rows["hangs_lower"], as_kept)
    shorter = np.where(rows.damper_changed, rows["closed"] - rows.factory("closed"), 0.0)
    contact = rows["contact_span"] + _stop_growth(rows) + shorter + rows.spacer
    return extended, contact, rows["closed"] - to_damper


def _leaf_droop(rows: Rows, factory: Positions | None) -> Array:
    """Where leaves hang by themselves under the unsprung mass, mm; they do not end the droop of any other spring.

    The factory's by its full droop as taped where that is known, which block and shackle shift; else, and for another
    pack, by the force that the hanging mass takes. So too with another damper, unless the factory's was seen to let the
    leaves hang free; where that force is not known, leaves end nothing then (infinite).
    """
    if rows.axle.axle.traits.spring != "leaf":
        return np.full((1, 1), np.inf)
    hanging = np.nan_to_num(rows["unsprung_kg"]) * STANDARD_GRAVITY / rows.force_scale
    span = rows["free_length"] + hanging - rows.span_to_seat
    by_force = rows.axle.travel.seat.where(span + np.zeros_like(rows["leaf_rate"]), rows.curve_column)
    taped = rows["droop_height"] + rows.leaf_lift
    if factory is None:
        return np.where(np.isnan(taped), by_force, taped)
    held = ~(factory.ends.damper_droop_mm - rows["droop_height"] > DROOP_DISAGREEMENT_MM)[:, :1]
    freed = rows.damper_changed & held & ~np.isnan(taped)
    hanging_free = np.where(freed, np.where(np.isnan(by_force), np.inf, np.fmax(by_force, taped)), taped)
    return np.where(rows.changed("leaf_pack") | np.isnan(taped), by_force, hanging_free)


def _full_droop(rows: Rows, by_damper: Array, leaf_droop: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Arch-to-hub at full droop, mm, and where the damper alone ends it, (n, K) each.

    The first of damper, leaves and strap, not-a-number where none is known to end it. A damper of leaves that is as
    the factory fitted it and of unknown length ends nothing: the leaves' own droop was taped with it in place.
    """
    strap = rows["strap"] if rows.axle.travel.anchored else np.full((1, 1), np.inf)
    if rows.axle.axle.traits.spring == "leaf":
        reach = rows["extended"] - rows.span_to_damper  # a length says nothing where the mounts were never taped
        unknown = np.isnan(reach) & ~rows.damper_changed
        by_damper = np.where(unknown, np.inf, by_damper)
    other = np.fmin(strap, leaf_droop)
    ended = np.where(np.isnan(by_damper) & np.isfinite(other), other, np.minimum(by_damper, other))
    return _finite(ended), (by_damper[:, :1] <= other[:, :1]) & ~np.isnan(by_damper[:, :1])


def _at_a_stop_off_the_rod(rows: Rows) -> tuple[Array, Array]:
    """Arch-to-hub where the stop touches and where it is crushed, mm: by its ratio, or by the surveyed room to it."""
    surveyed, growth = rows.axle.travel.surveyed, _stop_growth(rows)
    if surveyed is not None and surveyed.stop_gap is not None:
        both = stacked(growth, growth - rows.crush)
        touches, crushed = surveyed.stop_gap.where(both + 0.0 * rows["bump_stop_ratio"], rows.curve_column)
        return touches, crushed
    contact = rows["contact_height"] + growth / rows["bump_stop_ratio"]
    return contact, contact - rows.crush / rows["bump_stop_ratio"]


def _up_to_the_lock(rows: Rows, full_droop: Array, full_bump: Array) -> tuple[Array, Array]:
    """The ends of the travel, no further than a surveyed linkage goes before it locks."""
    if rows.axle.travel.surveyed is None:
        return full_droop, full_bump
    in_bump, in_droop = (rows.spread(lock) for lock in rows.axle.travel.surveyed.locks_mm)
    return np.minimum(full_droop, in_droop), np.maximum(full_bump, in_bump)


def _stop_growth(rows: Rows) -> Array:
    """How much sooner the build's bump stop touches than the factory's, mm along the stop."""
    taller = rows["stop_free"] - rows.factory("stop_free")
    return np.where(rows.changed("bump_stop"), taller, 0.0) + rows["stop_spacer"]


def _articulated(rows: Rows, full_droop: Array, full_bump: Array) -> Array:
    """Lower and upper wheel of a solid axle, one spring at full droop and the other at full bump, arch-to-hub in mm.

    h = (h_d + h_f) / 2  +-  (h_d - h_f) / 2 x track / spring base
    """
    if not rows.axle.axle.traits.solid:
        return np.full((2, *full_droop.shape), np.nan)
    middle, half = 0.5 * (full_droop + full_bump), 0.5 * (full_droop - full_bump)
    further = half * rows["track"] / rows["spring_base"]
    return np.stack([middle + further, middle - further])


def _ride(rows: Rows, factory: Positions | None, lowest: Array, highest: Array) -> tuple[Array, Array, Array]:
    """Ride height, lift and the balance alone, (n, K) each, mm.

    The balance is anchored on the measured ride: ride = measured + (balance of the build - balance of the factory);
    where the factory's own numbers balance nowhere, one of them is wrong, and the ride is not known. A vehicle that the
    build's spring carries nowhere sits on its stops. A build that keeps spring, damper and load needs no balance: the
    spring's length stays, the spacers move it. A torsion bar's adjuster sets the ride where it was told to.
    """
    balance = balanced_height(rows, lowest, highest)
    measured = rows["ride_height"]
    if factory is None:
        ride = np.where(np.isnan(measured), _between(_finite(balance), lowest, highest), measured)
        return ride, np.zeros_like(ride) * ride, balance
    factory_ride = factory.arch_to_hub_mm[RIDE]
    by_difference = factory_ride + balance - _finite(factory.balance_mm)
    ride = np.where(np.isnan(factory.balance_mm), balance, by_difference)
    kept = ~rows.changed("coil_spring", "torsion_bar", "leaf_pack") & ~rows.damper_changed & ~rows.loaded
    if np.isnan(ride[:, 0]).any():
        ride = np.where(kept & np.isnan(ride), _ride_of_a_kept_spring(rows, factory), ride)
    ride = np.where(np.isnan(rows["adjusted_ride"]), ride, rows["adjusted_ride"])
    ride = _finite(_between(ride, lowest, highest))
    return ride, ride - factory_ride, balance


def _finite(height: Array) -> Array:
    """A place; not-a-number where there is none."""
    return np.where(np.isinf(height), np.nan, height)


def _between(ride: Array, lowest: Array, highest: Array) -> Array:
    """What the ends of the travel leave of a ride height; an end that is not known leaves it alone."""
    return np.where(ride < lowest, lowest, np.where(ride > highest, highest, ride))


def _ride_of_a_kept_spring(rows: Rows, factory: Positions) -> Array:
    """Where the factory spring is as long as at the factory's ride, mm; block and shackle lift as much as they add."""
    travel, measured = rows.axle.travel, rows["ride_height"]
    if rows.axle.axle.traits.spring == "leaf":
        return measured + rows.leaf_lift
    if rows.axle.axle.traits.spring == "torsion_bar":
        return measured
    return travel.seat.where(factory.seat_gap_mm[RIDE] - rows.span_to_seat, rows.curve_column)
