"""The factory axle with the proposed parts in place of, or added to, its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot

from service.engine.axle import Axle, CompiledAxle
from service.engine.envelope import Duty, Load, LoadItem
from service.engine.parts import (
    Accessory,
    BrakeHose,
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    DifferentialSpacer,
    ForceTable,
    LimitStrap,
    Part,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    UpperArm,
)
from service.engine.plausible import SINGLE_KINDS, check_part, layout_fault, reading_faults
from service.engine.policy import Policy
from service.engine.reading import Reading
from service.engine.refusal import Fault, RefusedError
from service.engine.slots import Slots, force_points, spring_slots, stated, stop_slots, strut_slots

NO_LOAD = Load()
MOST_OF_A_KIND = 20
STACKING: dict[type[Part], tuple[str, str]] = {
    StrutTopSpacer: ("top_spacer", "thickness_mm"),
    SpringSpacer: ("spring_spacer", "thickness_mm"),
    BumpStopSpacer: ("stop_spacer", "thickness_mm"),
}
LIMITING: dict[type[Part], tuple[str, str]] = {
    UpperArm: ("limit_upper_ball_joint", "ball_joint_reached_at_arch_to_hub_mm"),
    DifferentialSpacer: ("limit_inner_cv", "inner_cv_reached_at_arch_to_hub_mm"),
    LimitStrap: ("strap", "max_arch_to_hub_mm"),
    BrakeHose: ("limit_brake_hose", "reached_at_arch_to_hub_mm"),
}
"""Kinds that bring one number: its slot and its field."""


@dataclass(frozen=True, slots=True)
class ProposedPart:
    """A part as proposed: how many on one wheel, its SKU if it has one, where the request names it."""

    part: Part
    quantity: int = 1
    name: str = ""
    pointer: str = ""


@dataclass(frozen=True, slots=True)
class Build:
    """``slots`` holds what the build brings in place of the factory's; ``changed`` the kinds of part it replaces."""

    axle: CompiledAxle
    slots: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    changed: frozenset[str] = frozenset()
    force_points: ForceTable = ()
    spring: CoilSpring | None = None
    parts: tuple[ProposedPart, ...] = ()
    load: Load = NO_LOAD
    target_lift_mm: Reading | None = None

    @property
    def loaded(self) -> bool:
        return bool(self.load.accessories) or bool(self.load.occupants_kg and self.load.occupants_kg.value > 0)


def factory_build(axle: CompiledAxle) -> Build:
    spring = axle.axle.envelope.fitted.spring
    return Build(axle, force_points=force_points(spring), spring=spring)


def assemble(
    axle: Axle,
    parts: Sequence[ProposedPart] = (),
    load: Load | None = None,
    duty: Duty = "unsealed_touring",
    target_lift_mm: Reading | None = None,
) -> Build:
    """A build of ``parts`` and ``load`` on an axle; the order of the parts carries no meaning.

    Raises ``RefusedError`` for parts that cannot be, do not belong to the layout, or exclude each other; pointers are
    relative to the request.
    """
    load = load or Load()
    faults = [*_part_faults(axle, parts), *_load_faults(load, target_lift_mm)]
    if faults:
        raise RefusedError(faults)
    compiled = axle.under(duty)
    ordered = tuple(sorted(parts, key=lambda p: (p.part.kind, p.name, p.quantity, repr(p.part))))
    carried = _carried(ordered, load)
    springs = [p.part for p in ordered if isinstance(p.part, CoilSpring)]
    spring = springs[0] if springs else axle.envelope.fitted.spring
    slots = _slots(ordered, axle.policy) | _load_slots(carried, axle)
    if target_lift_mm is not None:
        slots["target_lift"] = (target_lift_mm.value, target_lift_mm.half_width(0.0))
    changed = frozenset(p.part.kind for p in ordered)
    return Build(compiled, slots, changed, force_points(spring), spring, ordered, carried, target_lift_mm)


def _part_faults(axle: Axle, parts: Sequence[ProposedPart]) -> Iterable[Fault]:
    seen: dict[str, str] = {}
    for proposed in parts:
        part, at = proposed.part, proposed.pointer
        yield from (fault.below(at) for fault in check_part(part))
        belongs = layout_fault(part, axle.envelope.layout, driven=axle.envelope.driven)
        if belongs:
            yield Fault(f"{at}/kind" if at.endswith("/part") else at, belongs)
        what = part.kind.replace("_", " ")
        if part.kind in SINGLE_KINDS and part.kind in seen:
            yield Fault(at, f"There is a {what} in this build already: one wheel holds one.")
        seen[part.kind] = at
        if part.kind in SINGLE_KINDS and proposed.quantity != 1:
            yield Fault(
                f"{at.removesuffix('/part')}/quantity", f"One wheel holds one {what}; the quantity is per wheel."
            )
        elif not 1 <= proposed.quantity <= MOST_OF_A_KIND:
            yield Fault(f"{at.removesuffix('/part')}/quantity", f"The quantity must be 1 to {MOST_OF_A_KIND}.")


def _load_faults(load: Load, target_lift_mm: Reading | None) -> Iterable[Fault]:
    for index, item in enumerate(load.accessories):
        for name in ("mass_kg", "behind_front_axle_mm"):
            yield from reading_faults(name, getattr(item, name), f"/load/accessories/{index}/{name}")
    if load.occupants_kg is not None:
        yield from reading_faults("occupants_kg", load.occupants_kg, "/load/occupants_kg")
    if target_lift_mm is not None:
        yield from reading_faults("target_lift_mm", target_lift_mm, "/target_lift_mm")


def _carried(parts: Iterable[ProposedPart], load: Load) -> Load:
    """The load with the accessories among the parts, in an order that does not depend on the request's."""
    fitted = [
        LoadItem(p.part.mass_kg, p.part.behind_front_axle_mm, p.name)
        for p in parts
        if isinstance(p.part, Accessory) and p.part.mass_kg and p.part.behind_front_axle_mm
        for _ in range(p.quantity)
    ]
    return Load(tuple(sorted((*load.accessories, *fitted), key=repr)), load.occupants_kg)


def _slots(parts: Iterable[ProposedPart], policy: Policy) -> Slots:
    slots: Slots = {}
    for proposed in parts:
        part = proposed.part
        if type(part) in STACKING:
            name, dimension = STACKING[type(part)]
            value, half_width = stated(policy, dimension, getattr(part, dimension))
            before = slots.get(name, (0.0, 0.0))
            # Half-widths of independent readings add up as their squares; pieces of one kind may err alike.
            slots[name] = (before[0] + proposed.quantity * value, hypot(before[1], proposed.quantity * half_width))
        else:
            slots |= _replacing_slots(part, policy)
    return slots


def _replacing_slots(part: Part, policy: Policy) -> Slots:
    if isinstance(part, CoilSpring):
        return spring_slots(part, policy)
    if isinstance(part, Strut):
        return strut_slots(part, policy)
    if isinstance(part, BumpStop):
        return stop_slots(part, policy)
    if isinstance(part, DifferentialSpacer) and part.inner_cv_reached_at_arch_to_hub_mm is None:
        return {"differential_drop": stated(policy, "drop_mm", part.drop_mm)}
    if type(part) in LIMITING:
        name, dimension = LIMITING[type(part)]
        return {name: stated(policy, dimension, getattr(part, dimension))}
    return {}


def _load_slots(load: Load, axle: Axle) -> Slots:
    """Mass that the load adds to this axle and to the vehicle, kg, by moments about the axles.

    added to the rear = sum m x / L          added to the front = sum m (L - x) / L
    """
    policy, masses = axle.policy, axle.masses
    length, length_half = stated(policy, "wheelbase_mm", masses.wheelbase_mm)
    added = square = total = total_square = moment = 0.0
    for item in load.accessories:
        mass, mass_half = stated(policy, "mass_kg", item.mass_kg)
        behind, behind_half = stated(policy, "behind_front_axle_mm", item.behind_front_axle_mm)
        share = behind / length
        on_axle = share if axle.end == "rear" else 1.0 - share
        added += mass * on_axle
        square += (on_axle * mass_half) ** 2 + (mass * behind_half / length) ** 2
        moment += mass * behind
        total, total_square = total + mass, total_square + mass_half**2
    square += (moment * length_half / length**2) ** 2 if load.accessories else 0.0
    if load.occupants_kg is not None:
        mass, mass_half = stated(policy, "occupants_kg", load.occupants_kg)
        sits = policy.occupants_behind_front_axle_share
        on_axle = sits.value if axle.end == "rear" else 1.0 - sits.value
        added += mass * on_axle
        square += (on_axle * mass_half) ** 2 + (mass * sits.half_width(0.0)) ** 2
        total, total_square = total + mass, total_square + mass_half**2
    if total == 0.0:
        return {}
    return {"added_axle_kg": (added, square**0.5), "added_gross_kg": (total, total_square**0.5)}
