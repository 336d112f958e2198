"""What can be changed of a build to mend a check, and from where to where it is tried."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from math import inf, isfinite, isnan
from typing import Literal, NamedTuple

from service.engine.axle import LIMIT_SLOTS
from service.engine.build import Build, part_slots
from service.engine.envelope import Limit, Load, LoadItem
from service.engine.layouts import DRIVE_JOINTS, FRONT_END_JOINTS
from service.engine.places import FULL_DROOP, RIDE
from service.engine.plausible import RANGES
from service.engine.reading import Reading
from service.engine.remedies.changed_build import (
    REMOVED_AT_ZERO,
    moves_points,
    part_of_kind,
    resized,
    with_dimension,
    with_limit,
    with_load,
)
from service.engine.sensitivity import Array
from service.engine.told import Told

Bound = Literal["at_most", "at_least"]
STEP, COARSE_STEP = 0.1, 1.0
"""A tenth of a millimetre, degree or kilogram; a millimetre where each try compiles a surveyed geometry anew."""


@dataclass(frozen=True, slots=True)
class Lever:
    """One number that may change: all that pass lie beyond the result, seen from ``start``, as far as ``extreme``.

    ``make`` gives the build with the number in place. ``was`` is the number now, none where there is none. ``kind`` and
    ``field`` name it in a part that the request may state, ``item`` a mass on board; neither is the axle's own limit.
    What may be left out has to be more than ``doubt``, its half-width, or nobody could ask for it.
    """

    name: str
    pointer: str
    bound: Bound
    was: float | None
    start: float
    extreme: float
    make: Callable[[float], Build]
    step: float = STEP
    kind: str = ""
    field: str = ""
    item: LoadItem | None = None
    doubt: float = 0.0


SURER_MM = 50.0
"""More than any doubt about a solid length that was reckoned."""


class Seen(NamedTuple):
    """What is known of a build that shall be mended: itself, the check that fails, its positions (5, 4)."""

    build: Build
    check: Told
    positions: Array

    def value(self, slot: str) -> float:
        """A quantity of the build as read."""
        if slot in self.build.slots:
            return self.build.slots[slot][0]
        return float(self.build.axle.factory.quantities[slot][0])


class Dimension(NamedTuple):
    """A dimension of a kind of part as a lever: how far beyond the present number it is tried (a share, or mm)."""

    kind: str
    field: str
    bound: Bound
    least_share: float = 0.0
    most_more: float = 0.0


DIMENSIONS = {
    "top_spacer": Dimension("strut_top_spacer", "thickness_mm", "at_most"),
    "spring_spacer": Dimension("spring_spacer", "thickness_mm", "at_most"),
    "more_spring_spacer": Dimension("spring_spacer", "thickness_mm", "at_least", most_more=60.0),
    "stop_spacer": Dimension("bump_stop_spacer", "thickness_mm", "at_least", most_more=100.0),
    "free_length": Dimension("coil_spring", "free_length_mm", "at_least", most_more=200.0),
    "closed_length": Dimension("strut", "closed_length_mm", "at_most", least_share=0.3),
    "tyre_diameter": Dimension("tyre", "overall_diameter_mm", "at_most", least_share=0.7),
    "tyre_width": Dimension("tyre", "section_width_mm", "at_most", least_share=0.5),
    "block": Dimension("leaf_block", "height_mm", "at_most"),
    "shackle_length": Dimension("shackle", "length_mm", "at_most", least_share=0.3),
    "max_deflection": Dimension("leaf_pack", "max_deflection_mm", "at_least", most_more=300.0),
    "differential_drop": Dimension("differential_spacer", "drop_mm", "at_most"),
    "more_differential_drop": Dimension("differential_spacer", "drop_mm", "at_least", most_more=80.0),
}
ADDED = ("stop_spacer", "more_spring_spacer", "more_differential_drop")
"""What may be put in where there is none."""
SUMMED = ("top_spacer", "spring_spacer", "more_spring_spacer", "stop_spacer")
AT_DROOP = ("top_spacer", "extended_length", "strap", "own_limit")
MENDING: dict[str, tuple[str, ...]] = {
    "coil_bind": ("top_spacer", "spring_spacer", "stop_spacer", "solid_length"),
    "damper_bottoming": ("top_spacer", "stop_spacer", "closed_length"),
    "spring_retention": ("free_length", "more_spring_spacer", "extended_length", "strap"),
    "leaf_over_deflection": ("stop_spacer", "max_deflection"),
    "shackle_past_line": ("extended_length", "strap", "own_limit"),
    "linkage_lock": ("top_spacer", "stop_spacer", "extended_length", "strap"),
    "tyre_clearance": ("stop_spacer", "tyre_diameter", "tyre_width"),
    "brake_hose": (*AT_DROOP, "block", "shackle_length"),
    "axle_rating": ("mass",),
    **dict.fromkeys(FRONT_END_JOINTS, (*AT_DROOP, "stop_spacer")),
    **dict.fromkeys(DRIVE_JOINTS, (*AT_DROOP, "differential_drop", "stop_spacer")),
    "inner_cv": (*AT_DROOP, "differential_drop", "more_differential_drop", "stop_spacer"),
}
"""Required check -> what can mend it."""


def levers_of(seen: Seen) -> Iterator[Lever]:
    """Every lever that may mend the check."""
    for name in MENDING.get(seen.check.label.check, ()):
        if name in DIMENSIONS:
            yield from _of_dimension(seen, name)
        else:
            yield from OTHERS[name](seen)


def _of_dimension(seen: Seen, name: str) -> Iterator[Lever]:
    build = seen.build
    kind, field, bound, least_share, most_more = DIMENSIONS[name]
    if kind == "strut" and not build.axle.axle.traits.strut:
        kind = "damper"
    if kind not in build.axle.axle.traits.fits:
        return
    now = _thickness(build, kind) if name in SUMMED else _stated(build, kind, field)
    if now is None and name not in ADDED:
        return
    start = now or 0.0
    extreme = start + most_more if bound == "at_least" else start * least_share
    one = resized(build, kind, field, part_of_kind(build, kind), 1.0)
    step = COARSE_STEP if moves_points(build, kind, one) else STEP
    doubt = 0.0
    if kind in REMOVED_AT_ZERO:
        doubt = max(getattr(one, field).plus_minus or 0.0, RANGES[field][0] - STEP)
    make = with_dimension(build, kind, field)
    yield Lever(name, f"/parts/{kind}/{field}", bound, now, start, extreme, make, step, kind, field, doubt=doubt)


def _thickness(build: Build, kind: str) -> float | None:
    """Of all the spacers of a kind together; none where there is none."""
    slots = part_slots([each for each in build.parts if each.part.kind == kind], build.axle.axle.policy)
    return next(iter(slots.values()))[0] if slots else None


def _stated(build: Build, kind: str, field: str) -> float | None:
    reading: Reading | None = getattr(part_of_kind(build, kind), field, None)
    return None if reading is None else reading.value


def _solid_length(seen: Seen) -> Iterator[Lever]:
    """Of a spring whose solid length was not measured a longer one than reckoned may pass: measured, it is surer."""
    solid, kind, field = seen.check.details["solid_length_mm"], "coil_spring", "solid_length_mm"
    spring = seen.build.spring
    if isnan(solid) or spring is None:
        return
    start = solid
    if spring.solid_length_mm is None:
        free = spring.free_length_mm.value if spring.free_length_mm else inf
        start = max(solid, min(solid + SURER_MM, free - COARSE_STEP))
    make = with_dimension(seen.build, kind, field)
    yield Lever("solid_length", f"/parts/{kind}/{field}", "at_most", solid, start, 0.3 * solid, make, STEP, kind, field)


def _extended_length(seen: Seen) -> Iterator[Lever]:
    """As short as the strut or damper is at ride: then nothing of the droop is left."""
    kind, field = "strut" if seen.build.axle.axle.traits.strut else "damper", "extended_length_mm"
    now, at_ride = _stated(seen.build, kind, field), float(seen.positions[2, RIDE])
    if now is None or not at_ride < now:
        return
    make = with_dimension(seen.build, kind, field)
    yield Lever("extended_length", f"/parts/{kind}/{field}", "at_most", now, now, at_ride, make, STEP, kind, field)


def _strap(seen: Seen) -> Iterator[Lever]:
    """From where the wheel hangs now to where it rides."""
    build, kind, field = seen.build, "limit_strap", "max_arch_to_hub_mm"
    droop, ride = float(seen.positions[0, FULL_DROOP]), float(seen.positions[0, RIDE])
    if not build.axle.travel.anchored or not ride < droop:
        return
    make = with_dimension(build, kind, field)
    was = _stated(build, kind, field)
    yield Lever("strap", f"/parts/{kind}/{field}", "at_most", was, droop, ride, make, STEP, kind, field)


REACHES: dict[str, tuple[Bound, float]] = {
    "limit": ("at_least", 300.0),
    "bump_limit": ("at_most", -300.0),
    "angle_limit": ("at_least", 60.0),
    "plunge_limit": ("at_least", 200.0),
}
"""A joint's own range, and how far beyond the present position or limit it is tried."""
ARM_FIELDS = {"limit": "ball_joint_reached_at_arch_to_hub_mm", "angle_limit": "ball_joint_max_angle_deg"}


def _own_limit(seen: Seen) -> Iterator[Lever]:
    """The range that the joint, hose or shackle itself would have to have."""
    label, build = seen.check.label, seen.build
    sort = {"angle_deg": "angle_limit", "plunge_mm": "plunge_limit"}.get(label.quantity, "limit")
    if sort == "limit" and label.at == "full_bump":
        sort = "bump_limit"
    here = abs(seen.check.value)
    if not isfinite(here):
        return
    bound, beyond = REACHES[sort]
    kind, field = _range_in_a_part(label.check, sort, build)
    joint = "shackle" if label.check == "shackle_past_line" else label.check
    slot, stated = f"{sort}_{joint}", LIMIT_SLOTS[sort]
    now = seen.value(slot)
    was = None if isnan(now) else now
    start = max(here - beyond, 0.0) if was is None else (min(here, was) if bound == "at_least" else max(here, was))
    own = _own_reading(build, joint, stated)
    if kind:
        make, pointer = with_dimension(build, kind, field, own), f"/parts/{kind}/{field}"
    else:
        make, pointer = with_limit(build, slot, stated, own), f"/axle/limits/{joint}/{stated}"
    yield Lever("own_limit", pointer, bound, was, start, here + beyond, make, STEP, kind, field)


def _range_in_a_part(check: str, sort: str, build: Build) -> tuple[str, str]:
    """The kind and field of a part that may bring this range; of other joints it is the axle's own."""
    if check == "brake_hose":
        return "brake_hose", "reached_at_arch_to_hub_mm"
    if check == "upper_ball_joint" and sort in ARM_FIELDS:
        return "upper_arm", ARM_FIELDS[sort]
    if check == "shackle_past_line" and any(each.part.kind == "shackle" for each in build.parts):
        return "shackle", "reached_at_arch_to_hub_mm"
    kind, field = "differential_spacer", "inner_cv_reached_at_arch_to_hub_mm"
    if (check, sort) == ("inner_cv", "limit") and _stated(build, kind, field) is not None:
        return kind, field
    return "", ""


def _own_reading(build: Build, joint: str, field: str) -> Reading | None:
    """What the axle itself states of one of its joints; its shackle may state where it ends too."""
    envelope = build.axle.axle.envelope
    own: Reading | None = getattr(envelope.limits.get(joint, Limit()), field)
    shackle = envelope.fitted.shackle
    return shackle.reached_at_arch_to_hub_mm if own is None and joint == "shackle" and shackle is not None else own


def _mass(seen: Seen) -> Iterator[Lever]:
    """Each mass on board, and those who sit in it, down to nothing."""
    build, load = seen.build, seen.build.load
    for place, item in enumerate(load.accessories):
        if item in load.accessories[:place]:
            continue

        def lighter(mass_kg: float, place: int = place, item: LoadItem = item) -> Build:
            others = [each for i, each in enumerate(load.accessories) if i != place]
            now = [replace(item, mass_kg=Reading(mass_kg, item.mass_kg.plus_minus))] if mass_kg > 0.0 else []
            return with_load(build, replace(load, accessories=tuple(sorted([*others, *now], key=repr))))

        mass, doubt = item.mass_kg.value, item.mass_kg.plus_minus or 0.0
        yield Lever("mass", "/load/accessories/mass_kg", "at_most", mass, mass, 0.0, lighter, item=item, doubt=doubt)
    if load.occupants_kg is not None and load.occupants_kg.value > 0.0:
        occupants = load.occupants_kg

        def fewer(mass_kg: float) -> Build:
            return with_load(build, replace(load, occupants_kg=Reading(mass_kg, occupants.plus_minus)))

        yield Lever("occupants", "/load/occupants_kg", "at_most", occupants.value, occupants.value, 0.0, fewer)
    whole = sum(_masses(load))
    if len(_masses(load)) > 1:
        yield Lever("whole_load", "/load", "at_most", whole, whole, 0.0, partial(_in_proportion, build, whole))


def _masses(load: Load) -> list[float]:
    stated = [item.mass_kg for item in load.accessories] + ([load.occupants_kg] if load.occupants_kg else [])
    return [mass.value for mass in stated if mass.value > 0.0]


def _in_proportion(build: Build, whole_kg: float, mass_kg: float) -> Build:
    """The build with so much on board in all, each mass in proportion, and what it is in doubt by."""
    share = mass_kg / whole_kg

    def scaled(mass: Reading) -> Reading:
        return Reading(mass.value * share, None if mass.plus_minus is None else mass.plus_minus * share)

    items = tuple(replace(item, mass_kg=scaled(item.mass_kg)) for item in build.load.accessories if mass_kg > 0.0)
    occupants = build.load.occupants_kg
    return with_load(build, Load(items, None if occupants is None else scaled(occupants)))


OTHERS: dict[str, Callable[[Seen], Iterator[Lever]]] = {
    "solid_length": _solid_length,
    "extended_length": _extended_length,
    "strap": _strap,
    "own_limit": _own_limit,
    "mass": _mass,
}
