"""All combinations of a search: which there are, which of them cannot be, and what any of them bring to the engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from service.engine.assembling import Room, assemble, load_faults, part_faults, room_of
from service.engine.axle import CompiledAxle
from service.engine.brought import Brought, Flags
from service.engine.build import Build, ProposedPart, geometry_change, in_order, laden_build, outfit_of, part_slots
from service.engine.refusal import Fault, RefusedError
from service.engine.search.axes import ROOM, Axis, Picks, axis_of
from service.engine.search.wanted import Wanted
from service.engine.sensitivity import Array

MOST_OF_ALL = 100
"""Parts of a build where nobody has stated how many; there are fewer kinds."""


@dataclass(frozen=True, slots=True)
class Space:
    """``base`` is the build of what is kept, without a wish for its lift; ``axes`` are the kinds that may change, by
    their names.

    ``left`` is how many parts may be chosen beside those that are kept.
    """

    wanted: Wanted
    base: Build
    axes: tuple[Axis, ...]
    left: int
    room: Room
    kept_room: Mapping[str, float]

    @property
    def kept_parts(self) -> int:
        return sum(proposed.quantity for proposed in self.wanted.kept)

    def wanted_lift(self) -> tuple[float, float] | None:
        """The lift that is wanted, and how far from it will do, mm."""
        target = self.wanted.target
        if target is None:
            return None
        tolerance = target.tolerance_mm
        return target.lift_mm.value, self.wanted.axle.policy.lift_tolerance_mm if tolerance is None else tolerance

    def usable(self, place: int) -> Flags:
        """The choices of one axis that no combination is refused for by themselves, (choices,)."""
        axis = self.axes[place]
        held = self.base.axle.travel.anchored & self.room.none_left_by_strap(axis.room["strap"])
        return np.asarray(~(axis.refused | held))

    def refused(self, picks: Picks) -> Flags:
        """Combinations (axes, n) that cannot be: by a part, or because they leave no travel; (n,)."""
        flags = np.zeros(picks.shape[1], dtype=bool)
        for axis, pick in zip(self.axes, picks, strict=True):
            flags |= axis.refused[pick]
        spacer, strap, extended = (self._room_slot(name, picks) for name in ROOM)
        if self.base.axle.travel.anchored:
            flags |= self.room.none_left_by_strap(strap)
        return np.asarray(flags | self.room.none_left_by_damper(extended, np.nan_to_num(spacer)))

    def _room_slot(self, name: str, picks: Picks) -> Array:
        slot = np.full(picks.shape[1], self.kept_room[name])
        for axis, pick in zip(self.axes, picks, strict=True):
            chosen = axis.room[name][pick]
            slot = np.where(np.isnan(chosen), slot, chosen)
        return slot

    def compiled(self, pick: Picks) -> CompiledAxle:
        """The axle with the surveyed geometry that one combination (axes,) gives it."""
        axle, moving = self.wanted.axle, [axis.moves_points for axis in self.axes]
        if not any(moving):
            return self.base.axle
        parts = in_order([*self.wanted.kept, *self._chosen(np.where(moving, pick, 0))])
        return axle.under(self.wanted.duty, geometry_change(axle, parts, part_slots(parts, axle.policy)))

    def brought(self, axle: CompiledAxle, picks: Picks) -> Brought:
        """What combinations (axes, n) bring to their compiled axle."""
        count = picks.shape[1]
        table = {name: (np.full(count, value), np.full(count, half)) for name, (value, half) in self.base.slots.items()}
        for axis, pick in zip(self.axes, picks, strict=True):
            for name, values, half_widths in zip(axis.names, axis.values, axis.half_widths, strict=True):
                if (pick > 0).any():
                    table[name] = values[pick], half_widths[pick]
        names = tuple(sorted(table))
        both = np.array([table[name] for name in names]).reshape(len(names), 2, count)
        changed = {kind: np.ones(count, dtype=bool) for kind in self.base.changed}
        changed |= {axis.kind: pick > 0 for axis, pick in zip(self.axes, picks, strict=True)}
        spring = next((i for i, axis in enumerate(self.axes) if axis.force_points), None)
        pick = np.zeros(count, dtype=np.int32) if spring is None else picks[spring]
        points = (self.base.force_points, *(() if spring is None else self.axes[spring].force_points))
        fitted, place = np.unique(pick, return_inverse=True)
        kept_zones = self.base.spring is not None and self.base.spring.zones is not None
        zoned = np.array([kept_zones]) if spring is None else np.array([kept_zones, *self.axes[spring].zoned[1:]])
        return Brought(
            axle, names, both[:, 0], both[:, 1], changed, np.full(count, self.base.loaded),
            tuple(points[i] for i in fitted), place, zoned[pick],
        )  # fmt: skip

    def build(self, pick: Picks, *, asks_lift: bool) -> Build:
        """One combination (axes,) as a build, with or without the lift that is wanted among its checks."""
        wanted = self.wanted
        return assemble(wanted.axle, self.parts(pick), wanted.load, wanted.duty, wanted.target if asks_lift else None)

    def parts(self, pick: Picks) -> tuple[ProposedPart, ...]:
        """The parts of one combination (axes,): those that are kept, then those that are chosen."""
        return (*self.wanted.kept, *self._chosen(pick))

    def _chosen(self, pick: Picks) -> list[ProposedPart]:
        return [axis.parts[i - 1] for axis, i in zip(self.axes, pick.tolist(), strict=True) if i > 0]


def space_of(wanted: Wanted) -> Space:
    """The combinations of a search. Raises ``RefusedError`` where what is kept cannot be."""
    axle, kept = wanted.axle, wanted.kept
    faults = [*part_faults(axle, kept), *load_faults(wanted.load, wanted.target)]
    pieces = sum(proposed.quantity for proposed in kept)
    most = MOST_OF_ALL if wanted.most_parts is None else wanted.most_parts
    if most < pieces:
        faults.append(Fault("/most_parts", f"The parts that must stay are {pieces} already."))
    if faults:
        raise RefusedError(faults)
    slots = part_slots(kept, axle.policy)
    return Space(
        wanted,
        laden_build(outfit_of(axle, kept, wanted.duty), wanted.load, None),
        tuple(axis_of(axle, kind, parts) for kind, parts in sorted(wanted.choices.items())),
        most - pieces,
        room_of(axle.under(wanted.duty)),
        {name: slots.get(name, (np.nan, 0.0))[0] for name in ROOM},
    )
