"""The factory axle with the proposed parts in place of, or added to, its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import hypot, isnan
from typing import Any

from service.engine.axle import Axle, CompiledAxle, GeometryChange
from service.engine.envelope import Duty, Load, LoadItem, TargetLift
from service.engine.parts import (
    Accessory,
    BrakeHose,
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    Damper,
    DifferentialSpacer,
    ForceTable,
    LeafBlock,
    LeafPack,
    LimitStrap,
    Part,
    Shackle,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    TorsionBar,
    Tyre,
    UpperArm,
)
from service.engine.policy import Policy
from service.engine.slots import (
    UNIT_POINTS,
    UNKNOWN,
    Slot,
    Slots,
    bar_slots,
    block_slots,
    force_points,
    pack_slots,
    separate_damper_slots,
    shackle_slots,
    spring_slots,
    stated,
    stop_slots,
    strut_slots,
    tyre_slots,
)

NO_LOAD = Load()
STACKING: dict[type[Part], tuple[str, str]] = {
    StrutTopSpacer: ("top_spacer", "thickness_mm"),
    SpringSpacer: ("spring_spacer", "thickness_mm"),
    BumpStopSpacer: ("stop_spacer", "thickness_mm"),
}
LIMITING: dict[type[Part], tuple[str, str]] = {
    LimitStrap: ("strap", "max_arch_to_hub_mm"),
    BrakeHose: ("limit_brake_hose", "reached_at_arch_to_hub_mm"),
}
"""Kinds that bring one number: its slot and its field."""
BRINGING: dict[type[Part], Callable[[Any, Policy], Slots]] = {
    CoilSpring: spring_slots,
    Strut: strut_slots,
    Damper: separate_damper_slots,
    BumpStop: stop_slots,
    TorsionBar: bar_slots,
    LeafPack: pack_slots,
    LeafBlock: block_slots,
    Shackle: shackle_slots,
    Tyre: tyre_slots,
}
"""Kinds that bring more."""


@dataclass(frozen=True, slots=True)
class ProposedPart:
    """A part as proposed: how many on one wheel, its SKU if it has one, where the request names it."""

    part: Part
    quantity: int = 1
    name: str = ""
    pointer: str = ""


@dataclass(frozen=True, slots=True)
class Outfit:
    """Parts on an axle. ``slots`` holds what they bring in place of the factory's; ``changed`` the kinds of part that
    they replace. A lasting one has room for what is found of it, ``kept``.
    """

    axle: CompiledAxle
    slots: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    changed: frozenset[str] = frozenset()
    force_points: ForceTable = ()
    spring: CoilSpring | None = None
    parts: tuple[ProposedPart, ...] = ()
    kept: dict[str, object] | None = field(default=None, init=False, compare=False, repr=False)

    def lasting(self) -> Outfit:
        """The same outfit, to be asked about again under other loads: what does not depend on them is found once."""
        lasting = Outfit(self.axle, self.slots, self.changed, self.force_points, self.spring, self.parts)
        object.__setattr__(lasting, "kept", {})  # no change of an outfit takes along what was found of it
        return lasting


@dataclass(frozen=True, slots=True)
class Build:
    """An outfit under a load. ``carried`` holds what the load brings, and what the owner asks of the ride height."""

    outfit: Outfit
    carried: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    load: Load = NO_LOAD

    @property
    def axle(self) -> CompiledAxle:
        return self.outfit.axle

    @property
    def slots(self) -> Mapping[str, tuple[float, float]]:
        """All that the build brings, of its parts and of its load."""
        return {**self.outfit.slots, **self.carried}

    @property
    def changed(self) -> frozenset[str]:
        return self.outfit.changed

    @property
    def force_points(self) -> ForceTable:
        return self.outfit.force_points

    @property
    def spring(self) -> CoilSpring | None:
        return self.outfit.spring

    @property
    def parts(self) -> tuple[ProposedPart, ...]:
        return self.outfit.parts

    @property
    def loaded(self) -> bool:
        occupants = self.load.occupants_kg
        return bool(self.load.accessories) or bool(occupants and (occupants.value or occupants.plus_minus))


def factory_build(axle: CompiledAxle) -> Build:
    spring = axle.axle.envelope.fitted.spring
    return Build(Outfit(axle, force_points=points_of(axle.axle, spring), spring=spring))


def points_of(axle: Axle, spring: CoilSpring | None) -> ForceTable:
    return force_points(spring, axle.policy) if axle.traits.spring == "coil" else UNIT_POINTS


def outfit_of(axle: Axle, parts: Iterable[ProposedPart], duty: Duty) -> Outfit:
    """Parts that have been looked at already (see ``assembling``) on their axle."""
    ordered = in_order(parts)
    springs = [p.part for p in ordered if isinstance(p.part, CoilSpring)]
    spring = springs[0] if springs else axle.envelope.fitted.spring
    slots = part_slots(ordered, axle.policy)
    changed = frozenset(p.part.kind for p in ordered)
    compiled = axle.under(duty, geometry_change(axle, ordered, slots))
    return Outfit(compiled, slots, changed, points_of(axle, spring), spring, ordered)


def laden_build(outfit: Outfit, load: Load, target: TargetLift | None) -> Build:
    """An outfit with a load, and the accessories among its parts, on board; and what its owner asks of it."""
    on_board = carried_load(outfit.parts, load)
    return Build(outfit, {**load_slots(on_board, outfit.axle.axle), **target_slots(target)}, on_board)


def in_order(parts: Iterable[ProposedPart]) -> tuple[ProposedPart, ...]:
    """Parts in an order that does not depend on the request's."""
    some = [*parts]
    if len({_named(each) for each in some}) == len(some):
        return tuple(sorted(some, key=_named))
    return tuple(sorted(some, key=lambda each: (*_named(each), _text(each.part))))


def _named(proposed: ProposedPart) -> tuple[str, str, int]:
    return proposed.part.kind, proposed.name, proposed.quantity


@lru_cache(8192)
def _text(value: Part) -> str:
    return repr(value)


def target_slots(target: TargetLift | None) -> Slots:
    """What the owner asks of the ride height."""
    if target is None:
        return {}
    slots: Slots = {"target_lift": (target.lift_mm.value, target.lift_mm.half_width(0.0))}
    if target.tolerance_mm is not None:
        slots["lift_tolerance"] = (target.tolerance_mm, 0.0)
    return slots


def carried_load(parts: Iterable[ProposedPart], load: Load) -> Load:
    """The load with the accessories among the parts, in an order that does not depend on the request's."""
    fitted = [
        LoadItem(p.part.mass_kg, p.part.behind_front_axle_mm, p.name)
        for p in parts
        if isinstance(p.part, Accessory) and p.part.mass_kg and p.part.behind_front_axle_mm
        for _ in range(p.quantity)
    ]
    on_board = (*load.accessories, *fitted)
    return Load(tuple(sorted(on_board, key=_order)) if len(on_board) > 1 else on_board, load.occupants_kg)


def _order(item: LoadItem) -> tuple[object, ...]:
    readings = (item.mass_kg, item.behind_front_axle_mm)
    return item.name, *((each.value, -1.0 if each.plus_minus is None else each.plus_minus) for each in readings)


def part_slots(parts: Iterable[ProposedPart], policy: Policy) -> Slots:
    slots: Slots = {}
    for part, quantity in _pieces([*parts]):
        if type(part) in STACKING:
            name, dimension = STACKING[type(part)]
            value, half_width = stated(policy, dimension, getattr(part, dimension))
            before = slots.get(name, (0.0, 0.0))
            # Half-widths of independent readings add up as their squares; pieces of one kind may err alike.
            slots[name] = (before[0] + quantity * value, hypot(before[1], quantity * half_width))
        else:
            slots |= _replacing_slots(part, policy)
    return slots


def _pieces(parts: Sequence[ProposedPart]) -> Iterable[tuple[Part, int]]:
    """Each part, and how many there are: how the request counts them carries no meaning, three of one are three times
    one.
    """
    if len({type(proposed.part) for proposed in parts}) == len(parts):
        return [(proposed.part, proposed.quantity) for proposed in parts]
    pieces: dict[Part, int] = {}
    for proposed in parts:
        pieces[proposed.part] = pieces.get(proposed.part, 0) + proposed.quantity
    return pieces.items()


def geometry_change(axle: Axle, parts: Iterable[ProposedPart], slots: Slots) -> GeometryChange:
    """What a build changes of a surveyed linkage, taken out of its slots: the linkage is solved anew with it.

    The pivot that a spacer on a MacPherson strut moves, the inner joint that a differential spacer lowers, the ball
    joint that another upper arm holds elsewhere.
    """
    if not axle.surveyed:
        return ()
    moving = ["differential_drop", *(["top_spacer"] if axle.envelope.layout == "macpherson" else [])]
    change: list[tuple[str, Slot]] = [(name, slots.pop(name)) for name in moving if name in slots]
    for proposed in parts:
        held = proposed.part.ball_joint_mm if isinstance(proposed.part, UpperArm) else None
        for i, each in enumerate(held or ()):
            half_width = each.half_width(axle.policy.surveyed_point_mm)
            change.append((f"arm_ball_joint/{i}", (each.value, half_width)))
    return tuple(change)


@lru_cache(8192)
def _replacing_slots(part: Part, policy: Policy) -> Mapping[str, Slot]:
    if isinstance(part, DifferentialSpacer):
        return _differential_slots(part, policy)
    if isinstance(part, UpperArm):
        return _arm_slots(part, policy)
    if type(part) in LIMITING:
        name, dimension = LIMITING[type(part)]
        return {name: stated(policy, dimension, getattr(part, dimension))}
    return BRINGING[type(part)](part, policy) if type(part) in BRINGING else {}


def _differential_slots(part: DifferentialSpacer, policy: Policy) -> Slots:
    """A lower differential lets the wheel drop as much further, unless the part states where its joint binds."""
    slots = {"differential_drop": stated(policy, "drop_mm", part.drop_mm)}
    reached = part.inner_cv_reached_at_arch_to_hub_mm
    if reached is not None:
        slots["limit_inner_cv"] = stated(policy, "inner_cv_reached_at_arch_to_hub_mm", reached)
        slots["differential_credit"] = (0.0, 0.0)
    return slots


def _arm_slots(part: UpperArm, policy: Policy) -> Slots:
    reached, angle = part.ball_joint_reached_at_arch_to_hub_mm, part.ball_joint_max_angle_deg
    return {
        "limit_upper_ball_joint": stated(policy, "ball_joint_reached_at_arch_to_hub_mm", reached),
        "angle_limit_upper_ball_joint": stated(policy, "ball_joint_max_angle_deg", angle),
    }


def load_slots(load: Load, axle: Axle) -> Slots:
    """Mass that the load adds to this axle and to the vehicle, kg, by moments about the axles.

    added to the rear = sum m x / L          added to the front = sum m (L - x) / L
    """
    policy, masses = axle.policy, axle.masses
    length, length_half = stated(policy, "wheelbase_mm", masses.wheelbase_mm)
    added = square = total = total_square = moment = 0.0
    for item, pieces in Counter(load.accessories).items():  # several of one may err alike
        mass, mass_half = (pieces * each for each in stated(policy, "mass_kg", item.mass_kg))
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
    if total == total_square == 0.0:
        return {}
    on_this_axle = UNKNOWN if isnan(added) else (added, square**0.5)
    return {"added_axle_kg": on_this_axle, "added_gross_kg": (total, total_square**0.5)}
