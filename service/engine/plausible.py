"""Refusing input that cannot be true, with the field named and the reason in a fitter's words.

The ranges are wide: they stop slips of the pen, metres for millimetres and numbers that no vehicle has, and judge
nothing. All of them are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields
from functools import lru_cache

from service.engine.layouts import LAYOUTS
from service.engine.parts import (
    BumpStop,
    CoilSpring,
    Damper,
    DifferentialSpacer,
    ForceTable,
    Part,
    Strut,
    UpperArm,
)
from service.engine.reading import Reading
from service.engine.refusal import Fault
from service.engine.words import with_article

RANGES: dict[str, tuple[float, float, str]] = {
    "wire_mm": (2, 40, "wire thickness"),
    "total_coils": (1.5, 40, "number of windings"),
    "active_coils": (1, 40, "number of active windings"),
    "mean_diameter_mm": (20, 500, "mean coil diameter"),
    "free_length_mm": (50, 1500, "free length of a spring"),
    "solid_length_mm": (20, 1200, "solid length of a spring"),
    "rate_n_per_mm": (1, 2000, "spring rate"),
    "wire_tolerance_mm": (0, 2, "wire tolerance"),
    "shear_modulus_mpa": (20_000, 120_000, "shear modulus"),
    "tensile_strength_mpa": (300, 3500, "tensile strength"),
    "extended_length_mm": (100, 2000, "extended length"),
    "closed_length_mm": (50, 1900, "closed length"),
    "seat_offset_mm": (-1000, 1500, "seat offset (mount-to-mount length less the spring-seat gap)"),
    "gas_force_n": (0, 20_000, "gas force"),
    "thickness_mm": (0.1, 300, "thickness of a spacer"),
    "drop_mm": (0.1, 150, "drop of a differential spacer"),
    "free_height_mm": (5, 400, "free height of a bump stop"),
    "crushed_height_mm": (1, 400, "crushed height of a bump stop"),
    "ball_joint_max_angle_deg": (1, 90, "ball-joint angle"),
    "ball_joint_reached_at_arch_to_hub_mm": (50, 2000, "drop at which the ball joint binds"),
    "inner_cv_reached_at_arch_to_hub_mm": (50, 2000, "drop at which the inner CV joint binds"),
    "reached_at_arch_to_hub_mm": (50, 2000, "drop at which a joint or hose comes to its end"),
    "reached_in_bump_at_arch_to_hub_mm": (50, 2000, "rise at which a joint comes to its end"),
    "max_angle_deg": (1, 90, "angle of a joint from its neutral position"),
    "neutral_arch_to_hub_mm": (50, 2000, "arch-to-hub at which a joint is neutral"),
    "max_plunge_mm": (1, 200, "plunge of a CV joint"),
    "rack_travel_mm": (5, 200, "travel of the steering rack from the middle to one side"),
    "max_arch_to_hub_mm": (50, 2000, "drop that a limit strap allows"),
    "arch_to_hub_mm": (50, 2000, "distance from the arch mark to the wheel centre"),
    "seat_gap_mm": (20, 1500, "spring-seat gap"),
    "damper_length_mm": (50, 2000, "strut length, mount to mount"),
    "motion_ratio": (0.1, 2, "motion ratio (strut travel over wheel travel)"),
    "bump_stop_ratio": (0.05, 2, "bump-stop ratio (stop crush over wheel travel)"),
    "seating_coefficient": (0.5, 2, "seating coefficient of a spring (0.5 both ends guided to 2 one end free)"),
    "diameter_mm": (8, 80, "diameter of a torsion bar"),
    "active_length_mm": (200, 3000, "active length of a torsion bar"),
    "arm_length_mm": (100, 1000, "length of the arm that a torsion bar turns"),
    "permissible_stress_mpa": (100, 2000, "permissible stress"),
    "adjusted_ride_arch_to_hub_mm": (50, 2000, "ride height that the adjuster is set to"),
    "free_camber_mm": (-100, 500, "free camber of a leaf pack"),
    "max_deflection_mm": (20, 600, "greatest deflection of a leaf pack"),
    "height_mm": (1, 200, "height of a leaf block"),
    "length_mm": (30, 400, "length of a shackle"),
    "overall_diameter_mm": (300, 1500, "overall diameter of a tyre"),
    "section_width_mm": (80, 500, "section width of a tyre"),
    "tyre_gap_mm": (0, 500, "gap between tyre and body"),
    "spring_base_mm": (300, 2500, "distance between the springs of an axle"),
    "track_mm": (800, 3000, "track"),
    "arm_angle_at_ride_deg": (-30, 45, "angle of the arm below the horizontal"),
    "unsprung_kg_per_wheel": (5, 1000, "unsprung mass of one wheel"),
    "mass_kg": (0.01, 10_000, "mass"),
    "behind_front_axle_mm": (-5000, 20_000, "distance behind the front axle"),
    "occupants_kg": (0, 5000, "mass of the occupants"),
    "wheelbase_mm": (1000, 10_000, "wheelbase"),
    "front_axle_kg": (50, 20_000, "kerb mass on an axle"),
    "rear_axle_kg": (50, 20_000, "kerb mass on an axle"),
    "front_axle_rating_kg": (50, 30_000, "axle rating"),
    "rear_axle_rating_kg": (50, 30_000, "axle rating"),
    "gross_rating_kg": (100, 60_000, "gross rating"),
    "target_lift_mm": (-300, 400, "lift"),
}
"""Field name -> least and greatest value in the field's unit, and what it is."""

UNITS = {"_n_per_mm": "N/mm", "_mm": "mm", "_kg": "kg", "_mpa": "MPa", "_deg": "degrees", "_n": "N"}
"""What a field's name ends with, or has before "per wheel", and how its unit is printed; the longer first."""
MAY_BE_UNSTATED = {
    "active_coils", "mean_diameter_mm", "ends", "forming", "solid_length_mm", "wire_tolerance_mm", "shear_modulus_mpa",
    "tensile_strength_mpa", "gas_force_n", "ball_joint_max_angle_deg", "ball_joint_reached_at_arch_to_hub_mm",
    "inner_cv_reached_at_arch_to_hub_mm", "rate_n_per_mm", "force_table", "zones", "seating_coefficient",
    "permissible_stress_mpa", "adjusted_ride_arch_to_hub_mm", "reached_at_arch_to_hub_mm", "ball_joint_mm",
}  # fmt: skip


def reading_faults(field: str, reading: Reading | float, pointer: str) -> Iterator[Fault]:
    """What is wrong with one reading of ``field``, if anything."""
    least, most, what = RANGES[field]
    value = reading.value if isinstance(reading, Reading) else reading
    if not math.isfinite(value) or not least <= value <= most:
        unit = next((printed for suffix, printed in UNITS.items() if suffix in field), "plain number")
        yield Fault(pointer, f"{value:g} is no {what}: expected {least:g} to {most:g} ({unit}).")
    elif isinstance(reading, Reading) and reading.plus_minus is not None:
        half_width = reading.plus_minus
        if not math.isfinite(half_width) or half_width < 0:
            yield Fault(f"{pointer}/plus_minus", "The half-width must be a number of 0 or more.")
        elif least > 0 and half_width >= value:
            yield Fault(
                f"{pointer}/plus_minus",
                f"{_capital(with_article(what))} of {value:g} give or take {half_width:g} says nothing: the half-width "
                "must be smaller.",
            )
        elif half_width > most:
            yield Fault(f"{pointer}/plus_minus", f"{half_width:g} is no half-width for {with_article(what)}.")


def field_faults(holder: object, prefix: str = "") -> Iterator[Fault]:
    """What is wrong with each reading that ``holder``, a frozen value of the engine, states."""
    for field in fields(holder):  # type: ignore[arg-type]
        stated = getattr(holder, field.name)
        if field.name in RANGES and stated is not None:
            yield from reading_faults(field.name, stated, f"{prefix}/{field.name}")


@lru_cache(8192)
def check_part(part: Part, *, complete: bool = True) -> tuple[Fault, ...]:
    """What is wrong with one part; pointers are relative to it.

    ``complete``: the part must state all that a catalogued part must; a fitted one may leave out what nobody measured.

    >>> [str(fault.pointer) for fault in check_part(BumpStop(Reading(50.0), Reading(60.0)))]
    ['/crushed_height_mm']
    """
    faults = list(field_faults(part))
    if isinstance(part, UpperArm) and part.ball_joint_mm is not None:
        faults += [
            Fault(f"/ball_joint_mm/{i}", f"{c.value:g} mm is no coordinate of a point of a suspension.")
            for i, c in enumerate(part.ball_joint_mm)
            if not abs(c.value) <= FARTHEST_MM
        ]
    if complete:
        faults += [
            Fault(f"/{field.name}", "This part cannot be judged without it.")
            for field in fields(part)
            if getattr(part, field.name) is None
            and (field.name not in MAY_BE_UNSTATED or (part.kind, field.name) in NEEDED_HERE)
        ]
    if faults:
        return tuple(faults)
    if isinstance(part, CoilSpring):
        return tuple(_spring_faults(part, complete=complete))
    if isinstance(part, Strut | Damper):
        return tuple(_strut_faults(part))
    if isinstance(part, BumpStop):
        return tuple(_bump_stop_faults(part))
    return ()


def _spring_faults(spring: CoilSpring, *, complete: bool) -> Iterator[Fault]:
    told = [name for name in FORCE_FIELDS if getattr(spring, name) is not None]
    for name in told[1:]:
        yield Fault(
            f"/{name}", f"Give {' or '.join(FORCE_FIELDS.values())}, one of them: they could contradict each other."
        )
    by_dimensions = spring.mean_diameter_mm and (spring.active_coils or spring.ends)
    if complete and not told and not by_dimensions:
        yield Fault(
            "/rate_n_per_mm",
            f"A spring needs {', '.join(FORCE_FIELDS.values())}, or its mean diameter and active windings or ends.",
        )
    if spring.zones is not None:
        yield from _zone_faults(spring)
    if spring.force_table is not None:
        yield from _force_table_faults(spring.force_table)
    free, wire, coils = spring.free_length_mm, spring.wire_mm, spring.total_coils
    if free and wire and coils and wire.value * coils.value >= free.value:
        yield Fault(
            "/free_length_mm",
            f"{coils.value:g} windings of {wire.value:g} mm are {wire.value * coils.value:g} mm of solid steel: "
            f"the free length cannot be {free.value:g} mm.",
        )
    if free and spring.solid_length_mm and spring.solid_length_mm.value >= free.value:
        yield Fault("/solid_length_mm", "The solid length must be less than the free length.")
    if coils and spring.active_coils and spring.active_coils.value > coils.value:
        yield Fault("/active_coils", "A spring cannot have more active windings than windings.")
    if coils and spring.ends not in (None, "open") and coils.value <= DEAD_COILS:
        yield Fault(
            "/total_coils", f"Closed ends take up to {DEAD_COILS:g} windings: {coils.value:g} leave none that work."
        )
    if wire and spring.mean_diameter_mm and spring.mean_diameter_mm.value < 2.0 * wire.value:
        yield Fault("/mean_diameter_mm", "The mean coil diameter must be at least twice the wire thickness.")


def _zone_faults(spring: CoilSpring) -> Iterator[Fault]:
    zones = spring.zones or ()
    if not 1 <= len(zones) <= MOST_ZONES:
        yield Fault("/zones", f"Give 1 to {MOST_ZONES} zones.")
    if spring.mean_diameter_mm is None or spring.wire_mm is None:
        yield Fault("/mean_diameter_mm", "Zones need the wire thickness and the mean coil diameter.")
    for index, (coils, gap) in enumerate(zones):
        if not (0.25 <= coils <= 40 and 0.1 <= gap <= 1000):
            yield Fault(
                f"/zones/{index}",
                "A zone is its active windings (0.25 to 40) and the sum of its gaps in mm (0.1 to 1000).",
            )


def _force_table_faults(table: ForceTable) -> Iterator[Fault]:
    if len(table) < 2 or len(table) > 200:
        yield Fault("/force_table", "A force table needs 2 to 200 points.")
    before = (0.0, 0.0)
    for index, (deflection, force) in enumerate(table):
        at = f"/force_table/{index}"
        if not (0 <= deflection <= 1500 and 0 <= force <= 500_000):
            yield Fault(at, "A point is [deflection in mm, force in N]: 0 to 1500 mm and 0 to 500000 N.")
        elif index == 0 and (deflection == 0) != (force == 0):
            yield Fault(at, "A spring that is not pressed has no force, and one that is pressed has some.")
        elif index and deflection <= before[0]:
            yield Fault(
                at, f"The deflection must grow from point to point: {before[0]:g} mm is followed by {deflection:g} mm."
            )
        elif index and force <= before[1]:
            yield Fault(at, f"The force must grow with the deflection: {before[1]:g} N is followed by {force:g} N.")
        before = (deflection, force)


def _strut_faults(strut: Strut | Damper) -> Iterator[Fault]:
    extended, closed = strut.extended_length_mm, strut.closed_length_mm
    if extended and closed and closed.value >= extended.value:
        yield Fault(
            "/closed_length_mm",
            f"Closed ({closed.value:g} mm) it must be shorter than extended ({extended.value:g} mm).",
        )
    offset = strut.seat_offset_mm if isinstance(strut, Strut) else None
    if extended and offset and offset.value >= extended.value:
        yield Fault(
            "/seat_offset_mm", "The seat offset must be less than the extended length: no room is left for a spring."
        )


def _bump_stop_faults(stop: BumpStop) -> Iterator[Fault]:
    free, crushed = stop.free_height_mm, stop.crushed_height_mm
    if free and crushed and crushed.value >= free.value:
        yield Fault(
            "/crushed_height_mm",
            f"Crushed ({crushed.value:g} mm) it must be lower than free ({free.value:g} mm).",
        )


NEEDED_HERE = {
    ("brake_hose", "reached_at_arch_to_hub_mm"),
    ("torsion_bar", "shear_modulus_mpa"),
    ("leaf_pack", "rate_n_per_mm"),
}
"""Fields that these kinds cannot leave out, though others can."""
FORCE_FIELDS = {"rate_n_per_mm": "a rate", "force_table": "a force table", "zones": "zones"}
MOST_ZONES = 20
DEAD_COILS = 2.0
FARTHEST_MM = 10_000.0
SINGLE_KINDS = {
    "coil_spring", "strut", "damper", "bump_stop", "upper_arm", "differential_spacer", "limit_strap", "brake_hose",
    "torsion_bar", "leaf_pack", "leaf_block", "shackle", "tyre",
}  # fmt: skip
"""Kinds of which one wheel, or one axle, holds one."""


def layout_fault(part: Part, layout: str, *, driven: bool) -> str | None:
    """Why a part does not belong to an axle of this layout; ``None`` where it does."""
    traits = LAYOUTS[layout]
    if part.kind not in traits.fits:
        because = {
            "upper_arm": "it has no upper arm",
            "damper": "spring and damper are one part there: a separate damper has no place; give a strut",
        }.get(part.kind, "there is no place for it")
        what = _capital(with_article(part.kind.replace("_", " ")))
        return f"{what} does not belong to {with_article(traits.called)}: {because}."
    if isinstance(part, DifferentialSpacer) and not driven:
        return "This axle is not driven: it has no differential to lower."
    return None


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
