"""What a verdict took for granted, the notes of caution it gives, and what each rule rests on."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from typing import NamedTuple

from service.engine.build import Build, Outfit
from service.engine.checks.finding import Label
from service.engine.lasting import Lasting
from service.engine.parts import CoilSpring
from service.engine.policy import Policy
from service.engine.slots import rate_by_dimensions
from service.engine.words import DUTY_NOTES, SAFETY_NOTES

COMMON_PRACTICE = "common practice, no published source"
STANDARD = "EN 13906-1, known second-hand"
RATE_DISAGREEMENT = 0.10
"""Share by which a spring's stated rate and its dimensions may differ before it is said (common practice)."""
Basis = dict[str, str]
Rule = tuple[str, str]


class Assumed(NamedTuple):
    """What was taken for granted of an outfit: what is told before what was taken for granted of the load, and what is
    told behind it.
    """

    before_load: tuple[str, ...]
    behind_load: tuple[str, ...]


def assumed_of_outfit(outfit: Outfit) -> Assumed:
    """Sentences, in a fixed order, one for each thing that was assumed because nobody measured it."""
    before = (
        *outfit.axle.notes,
        *_stop_assumptions(outfit),
        *_spring_assumptions(outfit.spring, outfit.axle.axle.policy),
    )
    return Assumed(before, tuple(_travel_assumptions(outfit)))


def assumed_of_load(build: Build) -> Iterator[str]:
    """The same of what is on board."""
    if build.load.occupants_kg is not None and build.load.occupants_kg.value > 0:
        share = build.axle.axle.policy.occupants_behind_front_axle_share
        yield f"The occupants were taken to sit at {share.value:.0%} of the wheelbase behind the front axle, give or take {share.plus_minus:.0%}."
    if build.loaded:
        yield "The kerb masses were taken as weighed without occupants and without the load given here."


def _travel_assumptions(outfit: Outfit) -> Iterator[str]:
    axle = outfit.axle.axle
    if "differential_spacer" in outfit.changed and "differential_drop" in outfit.slots:
        yield (
            "Lowering the differential was taken to let the wheel drop as much further before the inner CV joint binds; no credit "
            "was given to the outer joint, and the shaft at full bump was looked at only where the drop is more than 30 mm."
        )
    if "upper_arm" in outfit.changed and not axle.surveyed:
        yield "The range of the replaced upper arm's ball joint at full bump is not known: it was held to the factory's wheel travel."
    if axle.traits.solid and None in (axle.envelope.track_mm, axle.envelope.spring_base_mm):
        yield (
            "Track and distance between the springs are not both known: brake hose and tyre were looked at with both wheels at the "
            "same height alone. With one wheel pushed up the other one hangs lower than at full droop."
        )


@lru_cache(4096)
def _spring_assumptions(spring: CoilSpring | None, policy: Policy) -> tuple[str, ...]:
    return tuple(_assumed_of_spring(spring, policy)) if spring is not None else ()


def _assumed_of_spring(spring: CoilSpring, policy: Policy) -> Iterator[str]:
    if spring.solid_length_mm is None and spring.ends is None and spring.wire_mm and spring.total_coils:
        yield (
            "The solid length was taken as wire thickness times windings. Ends that are not ground may add up to one and a half "
            "wire thicknesses: measure the solid length, or give ends and forming, to be sure."
        )
    elif spring.solid_length_mm is None and spring.ends is not None and spring.forming is None:
        yield "Whether the spring was coiled cold or hot is not known: the longer of the two solid lengths was used."
    by_dimensions = rate_by_dimensions(spring, policy)
    if spring.rate_n_per_mm is not None and abs(spring.rate_n_per_mm.value / by_dimensions - 1.0) > RATE_DISAGREEMENT:
        yield (
            f"The spring's rate is given as {spring.rate_n_per_mm.value:g} N/mm, but its dimensions make {by_dimensions:.1f} N/mm: "
            "one of its numbers is wrong. The given rate was used."
        )
    elif spring.rate_n_per_mm is None and spring.force_table is None and by_dimensions > 0.0:
        modulus = "its" if spring.shear_modulus_mpa else "spring steel's usual"
        yield f"The spring's force was computed from its dimensions and {modulus} shear modulus."


def _stop_assumptions(outfit: Outfit) -> Iterator[str]:
    compiled = outfit.axle
    envelope, policy = compiled.axle.envelope, compiled.axle.policy
    on_rod = compiled.axle.bump_stop_on_rod
    by_survey = compiled.travel.surveyed is not None and compiled.travel.surveyed.stop_gap is not None
    if not on_rod and not by_survey and envelope.travel.bump_stop_ratio is None:
        prior = policy.prior_bump_stop_ratio[envelope.layout]
        yield (
            f"The bump-stop ratio was not measured: {prior.value:.2f} +-{prior.plus_minus:.2f} (crush of the stop over wheel travel) "
            "was assumed, with its uncertainty carried through."
        )
    stop = next((p.part for p in outfit.parts if p.part.kind == "bump_stop"), envelope.fitted.bump_stop)
    if stop is not None and getattr(stop, "free_height_mm", None) and getattr(stop, "crushed_height_mm", None) is None:
        share = policy.crush_share[compiled.duty]
        yield (
            f"The bump stop's crushed height is not known: for this duty a crush of {share.value:.0%} of its free height, give or "
            f"take {share.plus_minus:.0%}, was assumed."
        )
    if on_rod and outfit.changed & {"strut", "damper"}:
        yield "The bump stop on the rod was taken to touch as far before the new strut closes as it does on the factory strut."


def safety_notes(outfit: Outfit) -> list[Lasting]:
    """Cautions as code and text: the standing ones, those that the proposed parts call for, and the duty's."""
    codes = ["life_and_limb", "local_codes", "measure_after_fitting", "align_and_aim"]
    if outfit.changed & {"coil_spring", "strut", "strut_top_spacer", "spring_spacer"}:
        codes += ["both_sides", "compressed_spring"]
    codes += ["top_spacer"] if "strut_top_spacer" in outfit.changed else []
    codes += ["replaced_arm"] if "upper_arm" in outfit.changed else []
    return [*(_note(code, SAFETY_NOTES[code]) for code in codes), _note(*DUTY_NOTES[outfit.axle.duty])]


@cache
def _note(code: str, text: str) -> Lasting:
    return Lasting({"code": code, "text": text})


def basis(label: Label, reserve: float, solid_length: Rule, *, by_factory: bool) -> list[Basis]:
    """The rules that a finding rests on, each with its source; ``solid_length`` is the one of the build's spring."""
    rules = _rules(label.check, label.quantity, reserve, by_factory)
    return [_basis(solid_length), *rules] if label.check in SOLID_LENGTH_CHECKS else rules


def _basis(rule: Rule) -> Basis:
    return dict(zip(("rule", "source"), rule, strict=True))


SOLID_LENGTH_CHECKS = {"coil_bind", "coil_gap_recommended"}


@cache
def _rules(check: str, quantity: str, reserve: float, by_factory: bool) -> list[Basis]:
    wanted = RULES["angle" if quantity == "angle_deg" else check]
    rules = [*wanted]
    if by_factory:
        rules.append(("no worse than the vehicle as it left the factory", COMMON_PRACTICE))
    if reserve > 0.0:
        unit = "degrees" if quantity.endswith("_deg") else "mm"
        rules.append((f"reserve of {reserve:g} {unit}", COMMON_PRACTICE))
    return list(map(_basis, rules))


def solid_length_basis(outfit: Outfit) -> Rule:
    """The rule that gives the solid length of an outfit's spring, and its source."""
    spring = outfit.spring
    if spring is not None and spring.solid_length_mm is not None:
        return "solid length as measured", "the part's data"
    if spring is not None and spring.ends is not None:
        ends = {
            "closed_ground": "closed and ground ends",
            "closed_unground": "closed unground ends",
            "open": "open ends",
        }[spring.ends]
        formed = (
            f"{spring.forming}-formed spring"
            if spring.forming
            else "spring of unknown forming (the longer of cold and hot)"
        )
        return f"solid length of a {formed}, {ends}", STANDARD
    return "solid length as wire thickness times windings", COMMON_PRACTICE


GUARDED = ("guarded acceptance: clear with a probability of at least 97.5 %", "JCGM 106:2012, 8.3.2")
TAPED_END = (("no joint is taken past the drop or rise at which it binds", COMMON_PRACTICE), GUARDED)
TWO_THIRDS = (
    ("two thirds of the factory's travel left", "road-authority text quoting VSB 14 section LS, known second-hand"),
)
RULES: dict[str, tuple[Rule, ...]] = {
    "coil_bind": (
        (
            "the bump stop is crushed before the coil is solid",
            "SA fact sheet on ride height: clearance between coils at full bump",
        ),
        GUARDED,
    ),
    "damper_bottoming": (("the bump stop is crushed before the damper is closed", COMMON_PRACTICE), GUARDED),
    "spring_retention": (
        ("the spring is still pressed at full droop", "SA fact sheet on ride height: enough seat force at full droop"),
        GUARDED,
    ),
    "angle": (("no joint is bent past its greatest angle", COMMON_PRACTICE), GUARDED),
    **dict.fromkeys(("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv"), TAPED_END),
    "brake_hose": (
        (
            "a brake hose is long enough for the full range of suspension movement",
            "Tasmania, Vehicle and Traffic (Vehicle Standards) Regulations 2024, reg. 107",
        ),
        GUARDED,
    ),
    "linkage_lock": (("strut and stop end the travel before the linkage locks", COMMON_PRACTICE), GUARDED),
    "leaf_over_deflection": (("leaves are bent no further than their maker allows", COMMON_PRACTICE), GUARDED),
    "shackle_past_line": (("a shackle is not pulled into line with its leaf", COMMON_PRACTICE), GUARDED),
    "damper_topping": (("the leaves, not the damper, hold the hanging axle", COMMON_PRACTICE),),
    "tyre_clearance": (
        ("half of a tyre's growth in diameter, and its growth in width, come off its gap", COMMON_PRACTICE),
        GUARDED,
    ),
    "axle_rating": (
        (
            "load shared between the axles by moments; no axle above its maker's rating",
            "49 CFR 571.3, gross axle weight rating",
        ),
        GUARDED,
    ),
    "spring_stress": (("corrected shear stress (Bergstraesser) against the permissible stress at solid", STANDARD),),
    "spring_buckling": (("deflection at which a spring of its slenderness and guidance buckles", STANDARD),),
    "bar_stress": (
        (
            "shear stress of a round bar under torque against its maker's permissible stress",
            "strength of materials, elementary",
        ),
    ),
    "coil_gap_recommended": (("sum of minimum gaps of a spring that works", STANDARD),),
    "bump_travel_left": TWO_THIRDS,
    "droop_travel_left": TWO_THIRDS,
    "ride_height": (("within 10 mm of the lift asked for, or the tolerance asked for", COMMON_PRACTICE),),
}
