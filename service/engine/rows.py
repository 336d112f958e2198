"""Builds on one axle as one set of arrays: n builds by K columns of moved readings.

Columns are the axle's own (see ``axle``), then one for each slot that any build fills with a reading of its own. A
build that keeps the factory's part moves with the factory's column, so the two cancel; one that replaces it does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property, lru_cache
from math import inf, nan
from typing import Any

import numpy as np

from service.engine.axle import CompiledAxle
from service.engine.brought import Brought, Flags, slots_of
from service.engine.build import Build
from service.engine.reading import RECTANGULAR
from service.engine.sensitivity import Array, step_of
from service.engine.springs import SegmentTable, rate_n_per_mm, stack_tables, table_of_points

UNFILLED = {
    "top_spacer": 0.0,
    "spring_spacer": 0.0,
    "stop_spacer": 0.0,
    "added_axle_kg": 0.0,
    "added_gross_kg": 0.0,
    "differential_drop": 0.0,
    "differential_credit": 1.0,
    "strap": inf,
    "target_lift": nan,
    "lift_tolerance": nan,
}
"""Slots that no factory axle has, and what they are where a build leaves them empty."""
_table = lru_cache(maxsize=4096)(table_of_points)


class Rows:
    """``rows[name]`` is a quantity as read and moved, (n, K), or (1, K) where no build fills it itself.

    ``as_read`` has no columns but the first: what is asked is then the estimate alone, at a fraction of the cost.
    The first ``own`` columns are the axle's. ``readings`` (K - 1) names what each column but the first moves,
    ``weights`` (n, K - 1) are their standard uncertainties over the steps, ``curve_column`` (K,) the axle's column that
    each column computes with.
    """

    def __init__(self, brought: Brought, *, as_read: bool = False) -> None:
        columns = brought.axle.columns
        self.own = own = 1 if as_read else columns.count
        self._begin(brought, columns.names[: own - 1], columns.weights[: own - 1], as_read=as_read)
        self.curve_column = self._column
        factory = self.axle.matrix.take(self.curve_column, axis=1)[:, None, :]
        self._slots: dict[str, Array] = dict(zip(self.axle.quantities, factory, strict=True))
        self._fill()

    def _begin(self, brought: Brought, names: tuple[str, ...], weights: Array, *, as_read: bool = False) -> None:
        """Columns for readings that are there before, and behind them for those that builds bring."""
        self.brought = brought
        self.axle: CompiledAxle = brought.axle
        self._before = before = 1 + len(names)
        values, half_widths = brought.values, brought.half_widths
        self._reads = reads = np.flatnonzero((half_widths > 0.0).any(axis=1) & (not as_read))
        self._column = np.concatenate([np.arange(before), np.zeros(len(reads), dtype=np.intp)])
        self._steps = step_of(np.nan_to_num(values[reads]))
        self.weights = np.zeros((brought.count, before - 1 + len(reads)))
        self.weights[:, : before - 1] = weights
        self.weights[:, before - 1 :] = (np.maximum(half_widths[reads], 0.0) * RECTANGULAR / self._steps).T
        self.readings = (*names, *(brought.names[j] for j in reads))
        self._changed: dict[tuple[str, ...], Flags] = {}
        self._unknown: dict[str, Flags] = {}

    def _fill(self) -> None:
        """Put what builds bring in place of what is there before."""
        names, half_widths, reads = self.brought.names, self.brought.half_widths, self._reads
        if not names:
            return
        before = np.stack([self[name] for name in names])
        moved = np.where(half_widths[..., None] >= 0.0, self.brought.values[..., None], before)
        places = self._before + np.arange(len(reads))
        moved[reads, :, places] += np.where(half_widths[reads] >= 0.0, self._steps, 0.0)
        self._slots.update(zip(names, moved, strict=True))

    def __getitem__(self, name: str) -> Array:
        if name not in self._slots:
            self._slots[name] = self._unfilled(name)
        return self._slots[name]

    def _unfilled(self, name: str) -> Array:
        return np.full((1, len(self.curve_column)), UNFILLED[name])

    def spread(self, per_axle_column: Array) -> Array:
        """A quantity of the axle alone, (C,) or (1, C), over these columns; (1, K)."""
        return per_axle_column.reshape(-1).take(self.curve_column)[None, :]

    def factory(self, name: str) -> Array:
        """A slot as the factory filled it, (1, K), whatever the builds do."""
        return self.spread(self.axle.factory.quantities[name])

    @cached_property
    def spacer(self) -> Array:
        """Thickness on top of the strut that the travel curves do not have in them already, mm."""
        surveyed = self.axle.travel.surveyed
        return np.zeros((1, 1)) if surveyed is not None and surveyed.holds_spacer else self["top_spacer"]

    def unknown(self, name: str) -> Flags:
        """Which builds have a quantity of which nobody knows how large it is; (n, 1) or (1, 1)."""
        if name not in self._unknown:
            self._unknown[name] = np.isnan(self[name][:, :1])
        return self._unknown[name]

    def changed(self, *kinds: str) -> Flags:
        """Which builds replace, or add, a part of one of these kinds; (n, 1)."""
        if kinds not in self._changed:
            flags = np.zeros(self.brought.count, dtype=bool)
            for kind in kinds:
                flags = flags | self.brought.changed.get(kind, False)
            self._changed[kinds] = flags[:, None]
        return self._changed[kinds]

    @property
    def strut_moved(self) -> Flags:
        """Which builds have an upper arm that moves a surveyed strut, and the wheel with its stop; (n, 1)."""
        return self.changed("upper_arm") & (self.axle.base is not None)

    @property
    def damper_changed(self) -> Flags:
        return self.changed("strut", "damper")

    @property
    def loaded(self) -> Flags:
        return self.brought.loaded[:, None]

    @cached_property
    def force_table(self) -> SegmentTable:
        points, place = self.brought.force_points, self.brought.force_place
        tables = stack_tables([_table(each) for each in points])
        return tables if len(points) == 1 else SegmentTable(tables.knots_mm[place], tables.slopes_n_per_mm[place])

    @cached_property
    def force_scale(self) -> Array:
        """What the points of the force table are multiplied by: 1, moved with the rate or the dimensions behind it."""
        if self.axle.axle.traits.spring == "leaf":
            return self["leaf_rate"]
        reference = self["reference_rate"]
        if np.isnan(reference).all():
            return self["force_scale"]
        coils = np.where(np.isnan(self["active_coils"]), 1.0, self["active_coils"])
        coils = np.where(self.brought.zoned[:, None], 1.0, coils)  # the zones have windings of their own
        now = rate_n_per_mm(self["wire"], self["mean_diameter"], coils, self["shear_modulus"])
        return np.where(np.isnan(reference), self["force_scale"], now / reference)

    @cached_property
    def span_to_seat(self) -> Array:
        """Seat gap (of leaves: camber) less the seat curve's span, mm.

        Spacers take from it, a strut of another offset moves it; a block, and half of a longer shackle, lift the body
        off the axle, so that the same arch-to-hub leaves the leaves less camber.
        """
        travel, traits = self.axle.travel, self.axle.axle.traits
        kept = self.spread(travel.seat_from_span)
        if traits.spring == "leaf":
            return kept - self.leaf_lift
        if not traits.strut:
            return kept - self["spring_spacer"]
        replaced = self.spread(travel.damper_from_span) - self["seat_offset"]
        return np.where(self.changed("strut"), replaced, kept) - self.spacer - self["spring_spacer"]

    @cached_property
    def seat_taken(self) -> Array:
        """Seat gap at the same arch-to-hub less the factory's, mm; known even where the gap itself is not."""
        travel, traits = self.axle.travel, self.axle.axle.traits
        if traits.spring == "leaf":
            return -self.leaf_lift
        moved = self.spread(travel.damper_from_span) - self["seat_offset"] - self.spread(travel.seat_from_span)
        other_strut = np.where(self.changed("strut"), moved, 0.0)
        return other_strut - self.spacer - self["spring_spacer"]

    @cached_property
    def leaf_lift(self) -> Array:
        """How much the build's block and shackle lift the body off the axle against the factory's, mm."""
        longer = np.where(self.changed("shackle"), self["shackle_length"] - self.factory("shackle_length"), 0.0)
        return self["block"] - self.factory("block") + 0.5 * longer

    @cached_property
    def span_to_damper(self) -> Array:
        """Damper length left less the damper curve's span, mm: a spacer on top of a strut takes from it."""
        return self.spread(self.axle.travel.damper_from_span) - self.spacer

    @cached_property
    def solid_length(self) -> Array:
        """Length at which the build's spring is solid, mm: measured, else by the standard, else wire times windings.

        Both rules are (windings + added coils) x (wire + tolerance), with nothing added in common practice. Of leaves
        it is the camber at their greatest deflection; a spring of zones is solid when their gaps are used up.
        """
        if self.axle.axle.traits.spring == "leaf":
            return self["free_length"] - self["leaf_max_deflection"]
        by_rule = (self["total_coils"] + self["solid_added_coils"]) * (self["wire"] + self["solid_wire_tolerance"])
        used_up = np.where(np.isnan(self["zone_gaps"]), by_rule, self["free_length"] - self["zone_gaps"])
        return np.where(np.isnan(self["measured_solid"]), np.maximum(by_rule, used_up), self["measured_solid"])

    @cached_property
    def crush(self) -> Array:
        """How far the bump stop can be crushed, mm: by its crushed height, else the duty's share of its free height."""
        return np.where(
            np.isnan(self["stop_crushed"]),
            self["crush_share"] * self["stop_free"],
            self["stop_free"] - self["stop_crushed"],
        )


def _of_outfit(name: str) -> Any:
    """What the row of an outfit has worked out under a name, over the columns of its laden rows."""

    def taken(rows: LadenRows) -> Array:
        quantity: Array = getattr(rows.outfit, name)
        return quantity if quantity.shape[-1] == 1 else quantity.take(rows.outfit_column, axis=-1)

    return cached_property(taken)


class LadenRows(Rows):
    """One outfit under n loads. What its parts are is (1, K), taken from its own row, ``outfit``, as it is asked for:
    the first columns are those of that row, the loads' columns compute with the outfit as read.
    """

    spacer = _of_outfit("spacer")
    force_scale = _of_outfit("force_scale")
    span_to_seat = _of_outfit("span_to_seat")
    seat_taken = _of_outfit("seat_taken")
    leaf_lift = _of_outfit("leaf_lift")
    span_to_damper = _of_outfit("span_to_damper")
    solid_length = _of_outfit("solid_length")
    crush = _of_outfit("crush")

    def __init__(self, outfit: Rows, builds: Sequence[Build]) -> None:
        names, values, half_widths = slots_of([build.carried for build in builds])
        loaded = np.array([build.loaded for build in builds])
        brought = replace(outfit.brought, names=names, values=values, half_widths=half_widths, loaded=loaded)
        self.outfit, self.own = outfit, outfit.own
        self._begin(brought, outfit.readings, outfit.weights[0])
        self.outfit_column = self._column
        self.curve_column = outfit.curve_column.take(self.outfit_column)
        self._slots = {}
        self._fill()

    @cached_property
    def force_table(self) -> SegmentTable:
        return self.outfit.force_table

    def _unfilled(self, name: str) -> Array:
        return self.outfit[name].take(self.outfit_column, axis=-1)
