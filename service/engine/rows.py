"""Builds on one axle as one set of arrays: n builds by K columns of moved readings.

Columns are the axle's own (see ``axle``), then one for each slot that any build fills with a reading of its own. A
build that keeps the factory's part moves with the factory's column, so the two cancel; one that replaces it does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property, lru_cache
from math import inf, nan

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
    The first ``own`` columns are the axle's, the last ones those of the readings ``beside``, which no build brings yet.
    ``readings`` (K - 1) names what each column but the first moves, ``weights`` (n, K - 1) are their standard
    uncertainties over the steps, ``curve_column`` (K,) the axle's column that each column computes with.
    """

    def __init__(self, brought: Brought, *, as_read: bool = False, beside: tuple[str, ...] = ()) -> None:
        self.brought = brought
        self.axle: CompiledAxle = brought.axle
        names, values, half_widths = brought.names, brought.values, brought.half_widths
        self.own = own = 1 if as_read else self.axle.columns.count
        reads = np.flatnonzero((half_widths > 0.0).any(axis=1) & (not as_read))
        self.readings = (*self.axle.columns.names[: own - 1], *(names[j] for j in reads), *beside)
        self.curve_column = np.concatenate([np.arange(own), np.zeros(len(reads) + len(beside), dtype=np.intp)])
        self.weights = np.zeros((brought.count, len(self.readings)))
        self.weights[:, : own - 1] = self.axle.columns.weights[: own - 1]
        steps = step_of(np.nan_to_num(values[reads]))
        self.weights[:, own - 1 : own - 1 + len(reads)] = _weights(half_widths[reads], steps).T
        factory = self.axle.matrix.take(self.curve_column, axis=1)[:, None, :]
        self._slots: dict[str, Array] = dict(zip(self.axle.quantities, factory, strict=True))
        if names:
            kept = np.stack([self[name] for name in names])
            moved = np.where(half_widths[..., None] >= 0.0, values[..., None], kept)
            moved[reads, :, np.arange(own, own + len(reads))] += np.where(half_widths[reads] >= 0.0, steps, 0.0)
            self._slots.update(zip(names, moved, strict=True))
        self._changed: dict[tuple[str, ...], Flags] = {}
        self._unknown: dict[str, Flags] = {}

    def under(self, builds: Sequence[Build]) -> Rows:
        """One row, that of an outfit with columns beside for the readings of a load, under the loads of some builds.

        What the outfit has worked out already is taken along, as it is the same under every load.
        """
        names, values, half_widths = slots_of([build.carried for build in builds])
        slots, weights = {**self._slots}, self.weights.repeat(len(builds), axis=0)
        for name, value, half_width in zip(names, values, half_widths, strict=True):
            slots[name] = np.where(half_width[:, None] >= 0.0, value[:, None], self[name])
            if name in self.readings:
                column, step = self.readings.index(name), step_of(np.nan_to_num(value))
                slots[name][:, 1 + column] += np.where(half_width >= 0.0, step, 0.0)
                weights[:, column] = _weights(half_width, step)
        laden, brought = copy(self), replace(self.brought, loaded=np.array([build.loaded for build in builds]))
        vars(laden).update(brought=brought, weights=weights, _slots=slots, _unknown={})
        return laden

    def __getitem__(self, name: str) -> Array:
        if name not in self._slots:
            self._slots[name] = np.full((1, len(self.curve_column)), UNFILLED[name])
        return self._slots[name]

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


def _weights(half_widths: Array, steps: Array) -> Array:
    return np.asarray(np.maximum(half_widths, 0.0) * RECTANGULAR / steps)
