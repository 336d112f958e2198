"""Whether parts and load can be a build at all: each by itself, together, and with travel left between its ends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any, NamedTuple

from service.engine.axle import Axle, CompiledAxle
from service.engine.build import NO_LOAD, Build, Outfit, ProposedPart, laden_build, outfit_of, part_slots
from service.engine.envelope import Duty, Load, TargetLift
from service.engine.parts import Damper, LimitStrap, Strut, StrutTopSpacer, UpperArm
from service.engine.places import BUMP_CONTACT
from service.engine.plausible import SINGLE_KINDS, check_part, layout_fault, reading_faults
from service.engine.plausible_survey import arm_fault
from service.engine.positions import factory_positions
from service.engine.refusal import Fault, RefusedError
from service.engine.sensitivity import Array
from service.engine.words import with_article

MOST_OF_A_KIND = 20
Number = float | Array


def assemble(
    axle: Axle,
    parts: Sequence[ProposedPart] = (),
    load: Load | None = None,
    duty: Duty = "unsealed_touring",
    target: TargetLift | None = None,
) -> Build:
    """A build of ``parts`` and ``load`` on an axle; the order of the parts carries no meaning.

    Raises ``RefusedError`` for parts that cannot be, do not belong to the layout, or exclude each other; pointers are
    relative to the request.
    """
    return unladen(axle, parts, duty).with_load(load or NO_LOAD, target)


@dataclass(frozen=True, slots=True)
class Unladen:
    """Parts on an axle with nothing on board: all of a build that takes time, and is the same under every load.

    ``faults`` keep the parts from being an ``outfit``; ``no_room`` are those of the travel that they leave.
    """

    outfit: Outfit | None
    faults: tuple[Fault, ...]
    no_room: tuple[Fault, ...]

    def lasting(self) -> Unladen:
        """The same parts, to be asked about again under other loads."""
        return Unladen(self.outfit and self.outfit.lasting(), self.faults, self.no_room)

    def with_load(self, load: Load, target: TargetLift | None) -> Build:
        """The build under a load. Raises ``RefusedError``; the travel is looked at where nothing else is wrong."""
        faults = (*self.faults, *load_faults(load, target)) or self.no_room
        if faults or self.outfit is None:
            raise RefusedError(list(faults))
        return laden_build(self.outfit, load, target)


def unladen(axle: Axle, parts: Sequence[ProposedPart], duty: Duty) -> Unladen:
    """Parts on an axle before their load is known, with what keeps them from being a build. Raises nothing."""
    faults = tuple(part_faults(axle, parts))
    no_room = () if faults else tuple(_room_faults(axle, parts, duty))
    return Unladen(None if faults or no_room else outfit_of(axle, parts, duty), faults, no_room)


def part_faults(axle: Axle, parts: Sequence[ProposedPart]) -> Iterable[Fault]:
    seen: dict[str, str] = {}
    for proposed in parts:
        part, at = proposed.part, proposed.pointer
        yield from (fault.below(at) for fault in check_part(part))
        if isinstance(part, UpperArm) and part.ball_joint_mm is not None and axle.surveyed and not check_part(part):
            unmet = arm_fault(axle.envelope, part.ball_joint_mm)
            yield from [Fault(f"{at}/ball_joint_mm", unmet)] if unmet else ()
        belongs = layout_fault(part, axle.envelope.layout, driven=axle.envelope.driven)
        if belongs:
            yield Fault(f"{at}/kind" if at.endswith("/part") else at, belongs)
        what = part.kind.replace("_", " ")
        if part.kind in SINGLE_KINDS and part.kind in seen:
            yield Fault(at, f"There is {with_article(what)} in this build already: one wheel holds one.")
        seen[part.kind] = at
        if part.kind in SINGLE_KINDS and proposed.quantity != 1:
            yield Fault(
                f"{at.removesuffix('/part')}/quantity", f"One wheel holds one {what}; the quantity is per wheel."
            )
        elif not 1 <= proposed.quantity <= MOST_OF_A_KIND:
            yield Fault(f"{at.removesuffix('/part')}/quantity", f"The quantity must be 1 to {MOST_OF_A_KIND}.")


class Room(NamedTuple):
    """Where the bump stop touches on the factory axle: arch-to-hub, and the damper's mount-to-mount length, mm."""

    contact_mm: float
    length_mm: float

    def none_left_by_strap(self, max_arch_to_hub_mm: Number) -> Any:
        """Whether a strap (array or number) holds the wheel where the stop touches already."""
        return max_arch_to_hub_mm <= self.contact_mm

    def none_left_by_damper(self, extended_mm: Number, top_spacer_mm: Number) -> Any:
        """Whether a strut or damper of this extended length, below spacers of this thickness, does."""
        return extended_mm <= self.length_mm - top_spacer_mm


def room_of(axle: CompiledAxle) -> Room:
    factory = factory_positions(axle)
    contact, length = (each[BUMP_CONTACT, 0, 0] for each in (factory.arch_to_hub_mm, factory.damper_length_mm))
    return Room(float(contact), float(length))


HOLDING = (LimitStrap, Strut, Damper)
"""Kinds that may hold the wheel up."""


def _room_faults(axle: Axle, parts: Iterable[ProposedPart], duty: Duty) -> Iterable[Fault]:
    """A strap, strut or damper that holds the wheel above the point where its bump stop touches leaves no travel."""
    holding = [proposed for proposed in parts if isinstance(proposed.part, HOLDING)]
    if not holding:
        return
    spacers = [proposed for proposed in parts if isinstance(proposed.part, StrutTopSpacer)]
    slots = part_slots([*holding, *spacers], axle.policy)
    compiled = axle.under(duty)
    room, spacer = room_of(compiled), slots.get("top_spacer", (0.0, 0.0))[0]
    for proposed in holding:
        part = proposed.part
        if isinstance(part, LimitStrap) and compiled.travel.anchored and room.none_left_by_strap(slots["strap"][0]):
            yield Fault(
                f"{proposed.pointer}/max_arch_to_hub_mm",
                f"It holds the wheel where the bump stop touches already ({room.contact_mm:.0f} mm): no travel is "
                "left.",
            )
        if isinstance(part, Strut | Damper) and room.none_left_by_damper(slots["extended"][0], spacer):
            yield Fault(
                f"{proposed.pointer}/extended_length_mm",
                f"With the bump stop touching the mounts are {room.length_mm - spacer:.0f} mm apart already: it holds "
                "the wheel there.",
            )


def load_faults(load: Load, target: TargetLift | None) -> Iterable[Fault]:
    for index, item in enumerate(load.accessories):
        for name in ("mass_kg", "behind_front_axle_mm"):
            yield from reading_faults(name, getattr(item, name), f"/load/accessories/{index}/{name}")
    if load.occupants_kg is not None:
        yield from reading_faults("occupants_kg", load.occupants_kg, "/load/occupants_kg")
    if target is not None:
        yield from reading_faults("target_lift_mm", target.lift_mm, "/target_lift_mm")
        if target.tolerance_mm is not None and not 0.0 < target.tolerance_mm < inf:
            yield Fault("/lift_tolerance_mm", "A tolerance is a number of millimetres above zero.")
