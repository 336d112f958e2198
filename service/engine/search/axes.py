"""The kinds that a search may change, each an axis of choices, and what each choice brings to a build."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from service.engine.assembling import part_faults
from service.engine.axle import Axle
from service.engine.brought import EMPTY, Flags
from service.engine.build import ProposedPart, geometry_change, part_slots, points_of
from service.engine.parts import CoilSpring, ForceTable
from service.engine.sensitivity import Array
from service.engine.slots import Slots

Picks = NDArray[np.int32]
"""Combinations (axes, n): which choice each has on each axis, 0 for none."""
ROOM = ("top_spacer", "strap", "extended")
"""Slots that decide whether any travel is left between droop and bump stop."""
ORDERED: Mapping[str, tuple[str, float]] = {
    "strut_top_spacer": ("top_spacer", 0.0),
    "spring_spacer": ("spring_spacer", 0.0),
    "bump_stop_spacer": ("stop_spacer", 0.0),
    "limit_strap": ("strap", inf),
}
"""Kinds that bring one number, along which margins rise or fall (see ``bounds``): its slot, its value without one."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One kind. Choice 0 fits none of it, choice i the part ``parts[i - 1]``; arrays have an entry a choice.

    ``values`` and ``half_widths`` (s, choices) are the slots ``names``; ``room`` those of ``ROOM``, taken before a
    surveyed geometry has them; ``refused`` are parts that cannot be on this axle. ``moves_points`` marks an axis whose
    choices change a surveyed geometry, ``order`` (choices,) is the number along which an ordered kind is bounded.
    """

    kind: str
    parts: tuple[ProposedPart, ...]
    names: tuple[str, ...]
    values: Array
    half_widths: Array
    room: Mapping[str, Array]
    refused: Flags
    force_points: tuple[ForceTable, ...]
    zoned: Flags
    moves_points: bool
    order: Array | None

    @property
    def choices(self) -> int:
        return 1 + len(self.parts)


def axis_of(axle: Axle, kind: str, parts: Iterable[ProposedPart]) -> Axis:
    """The axis of one kind, its parts by their names."""
    ordered = tuple(sorted(parts, key=lambda proposed: proposed.name))
    stated: list[Slots] = [part_slots([proposed], axle.policy) for proposed in ordered]
    room = {name: np.array([np.nan, *(slots.get(name, EMPTY)[0] for slots in stated)]) for name in ROOM}
    changes = [geometry_change(axle, [proposed], slots) for proposed, slots in zip(ordered, stated, strict=True)]
    moves_points = any(changes)
    names = tuple(sorted({name for slots in stated for name in slots}))
    table = np.array([[EMPTY, *(slots.get(name, EMPTY) for slots in stated)] for name in names], dtype=np.float64)
    values, half_widths = table.reshape(len(names), 1 + len(ordered), 2).transpose(2, 0, 1)
    order = None
    if kind in ORDERED and not moves_points:
        slot, without = ORDERED[kind]
        order = np.array([without, *(slots[slot][0] for slots in stated)])
    springs = [p.part for p in ordered if isinstance(p.part, CoilSpring)]
    return Axis(
        kind, ordered, names, values, half_widths, room,
        np.array([False, *(bool([*part_faults(axle, [proposed])]) for proposed in ordered)]),
        tuple(points_of(axle, spring) for spring in springs),
        np.array([False, *(spring.zones is not None for spring in springs)]),
        moves_points, order,
    )  # fmt: skip


def picks_of(axes: Iterable[Axis], most_parts: int) -> Picks:
    """Every combination of choices that fits ``most_parts`` parts at most; the first axis turns slowest.

    >>> from service.engine.search.axes import picks_of
    >>> picks_of([], 3).shape
    (0, 1)
    """
    picks: Picks = np.zeros((0, 1), dtype=np.int32)
    for axis in axes:
        choices = np.arange(axis.choices, dtype=np.int32)
        fitted = np.count_nonzero(picks, axis=0)
        before, now = np.nonzero(fitted[:, None] + (choices > 0) <= most_parts)
        picks = np.vstack([picks[:, before], choices[now]])
    return picks


def count_of(axes: Iterable[Axis], most_parts: int) -> int:
    """How many ``picks_of`` would give, without making them."""
    by_parts = [1] + [0] * most_parts
    for axis in axes:
        for fitted in range(most_parts, 0, -1):
            by_parts[fitted] += by_parts[fitted - 1] * len(axis.parts)
    return sum(by_parts)
