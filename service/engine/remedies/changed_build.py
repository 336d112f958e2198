"""A build with one thing changed: as ``assemble`` would make it anew, at a fraction of the cost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from service.engine.build import (
    STACKING,
    Build,
    Outfit,
    ProposedPart,
    geometry_change,
    in_order,
    load_slots,
    part_slots,
    points_of,
)
from service.engine.envelope import Fitted, Load
from service.engine.parts import PART_KINDS, CoilSpring, Part
from service.engine.reading import Reading
from service.engine.slots import Slots

FITTED_AS = {"coil_spring": "spring"}
"""Where the factory's part of a kind stands, if not under its kind's name."""
REMOVED_AT_ZERO = (*(kind.kind for kind in STACKING), "leaf_block", "differential_spacer")


def part_of_kind(build: Build, kind: str) -> Part | None:
    """The build's part of a kind, or the factory's; none where neither has one."""
    for proposed in build.parts:
        if proposed.part.kind == kind:
            return proposed.part
    fitted: Fitted = build.axle.axle.envelope.fitted
    part: Part | None = getattr(fitted, FITTED_AS.get(kind, kind), None)
    return part


def with_part(build: Build, kind: str, part: Part | None) -> Build:
    """The build with ``part`` in place of all it has of a kind; with none, as the factory left it."""
    axle = build.axle.axle
    before = [proposed for proposed in build.parts if proposed.part.kind == kind]
    others = [proposed for proposed in build.parts if proposed.part.kind != kind]
    now = [] if part is None else [ProposedPart(part)]
    parts = (*others, *now)
    taken = part_slots(before, axle.policy)
    slots = {name: slot for name, slot in build.outfit.slots.items() if name not in taken}
    slots |= part_slots(now, axle.policy)
    compiled = build.axle
    if moves_points(build, kind, part):
        parts = in_order(parts)
        every: Slots = part_slots(parts, axle.policy)
        compiled = axle.under(build.axle.duty, geometry_change(axle, parts, every))
        slots = {name: slot for name, slot in slots.items() if name in every or name in build.outfit.slots}
    spring = part if isinstance(part, CoilSpring) else build.spring
    points = points_of(axle, spring) if kind == CoilSpring.kind else build.force_points
    changed = frozenset(each.part.kind for each in parts)
    return replace(build, outfit=Outfit(compiled, slots, changed, points, spring, parts))


def moves_points(build: Build, kind: str, part: Part | None) -> bool:
    """Whether such a change moves a surveyed geometry, which has to be compiled anew then."""
    axle = build.axle.axle
    either = [each for each in build.parts if each.part.kind == kind] + ([ProposedPart(part)] if part else [])
    return bool(geometry_change(axle, either, part_slots(either, axle.policy)))


def with_dimension(build: Build, kind: str, field: str, own: Reading | None = None) -> Callable[[float], Build]:
    """Makes the build with another number in one dimension of its part of a kind, or the factory's.

    Several spacers count as one. The half-width stays as stated, by the part or else in the axle's ``own`` reading;
    where neither states one, it is the policy's. Nothing of a kind that only adds thickness is none of it.
    """
    has = part_of_kind(build, kind)

    def make(value: float) -> Build:
        part = resized(build, kind, field, has, value)
        if has is None and own is not None:
            part = PART_KINDS[kind](**{field: Reading(value, own.plus_minus)})  # type: ignore[arg-type]
        return with_part(build, kind, part)

    return make


def resized(build: Build, kind: str, field: str, has: Part | None, value: float) -> Part | None:
    """The part of a kind with another number in one of its dimensions."""
    if kind in REMOVED_AT_ZERO and value == 0.0:
        return None
    before: Reading | None = getattr(has, field, None)
    proposed = [each for each in build.parts if each.part.kind == kind]
    alone = len(proposed) == 1 and proposed[0].quantity == 1
    kept = before.plus_minus if before is not None and (alone or not proposed) else None
    changes: dict[str, Any] = {field: Reading(value, kept)}
    return PART_KINDS[kind](**changes) if has is None else replace(has, **changes)


def with_load(build: Build, load: Load) -> Build:
    """The build under another load."""
    asked = {name: slot for name, slot in build.carried.items() if name not in ("added_axle_kg", "added_gross_kg")}
    return replace(build, load=load, carried=asked | load_slots(load, build.axle.axle))


def with_limit(build: Build, slot: str, field: str, own: Reading | None) -> Callable[[float], Build]:
    """Makes the build on an axle whose ``own`` reading of one limit, if it has one, is another just as well known."""
    policy, kept = build.axle.axle.policy, own.plus_minus if own is not None else None

    def make(value: float) -> Build:
        stated = (value, policy.half_width(field, Reading(value, kept)))
        return replace(build, outfit=replace(build.outfit, slots={**build.outfit.slots, slot: stated}))

    return make
