"""What builds on one axle bring with them, as arrays: one entry a build, however the builds were put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.axle import CompiledAxle
from service.engine.build import Build
from service.engine.parts import ForceTable
from service.engine.sensitivity import Array

Flags = NDArray[np.bool_]
EMPTY = (float("nan"), -1.0)
"""A slot that a build does not fill: no half-width is negative."""
OF_A_LOAD = ("added_axle_kg", "added_gross_kg", "target_lift")
"""Readings that come with a load. They stand behind those of the parts, so that all are in one order also where the
parts are known already: of readings with one share of an uncertainty the first is told first.
"""


@dataclass(frozen=True, slots=True)
class Brought:
    """What n builds bring in place of the factory's, or beside it.

    ``values`` and ``half_widths`` (s, n) are the slots ``names`` (s,), a half-width below zero where a build leaves the
    slot to the factory. ``changed`` maps a kind of part to the builds (n,) that replace or add one; ``loaded`` (n,)
    are those that carry anything. Build i has the spring forces ``force_points[force_place[i]]``; ``zoned`` (n,) are
    those whose spring is wound in zones.
    """

    axle: CompiledAxle
    names: tuple[str, ...]
    values: Array
    half_widths: Array
    changed: Mapping[str, Flags]
    loaded: Flags
    force_points: tuple[ForceTable, ...]
    force_place: NDArray[np.intp]
    zoned: Flags

    @property
    def count(self) -> int:
        return len(self.loaded)


def slots_of(filled: Sequence[Mapping[str, tuple[float, float]]]) -> tuple[tuple[str, ...], Array, Array]:
    """The names (s,) of the slots that any of n builds fills, in a fixed order; values and half-widths (s, n)."""
    names = tuple(sorted({name for slots in filled for name in slots}, key=_place))
    table = np.array([number for slots in filled for name in names for number in slots.get(name, EMPTY)])
    values, half_widths = table.reshape(len(filled), len(names), 2).transpose(2, 1, 0)
    return names, values, half_widths


def _place(name: str) -> tuple[bool, str]:
    return name in OF_A_LOAD, name


def brought_by(builds: Sequence[Build]) -> Brought:
    """What some builds on one axle bring, in their order; there must be one at least."""
    names, values, half_widths = slots_of([build.slots for build in builds])
    kinds = {kind for build in builds for kind in build.changed}
    place = {points: i for i, points in enumerate(dict.fromkeys(build.force_points for build in builds))}
    return Brought(
        builds[0].axle,
        names,
        values,
        half_widths,
        {kind: np.array([kind in build.changed for build in builds]) for kind in kinds},
        np.array([build.loaded for build in builds]),
        tuple(place),
        np.array([place[build.force_points] for build in builds], dtype=np.intp),
        np.array([build.spring is not None and build.spring.zones is not None for build in builds]),
    )
