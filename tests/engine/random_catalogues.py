"""Shelves of parts made up by chance around what an axle has, and the plainest search of one: try them all."""

import random
from dataclasses import fields, replace
from itertools import product

from beam_axles import BEAMS
from reference_axles import REFERENCES, TapedAxle
from surveyed_axles import SURVEYED

from service.engine import (
    STANDARD,
    Fitted,
    Load,
    LoadItem,
    ProposedPart,
    Reading,
    RefusedError,
    assemble,
    compile_axle,
    evaluate,
)
from service.engine.envelope import TargetLift
from service.engine.parts import (
    BrakeHose,
    BumpStopSpacer,
    DifferentialSpacer,
    LeafBlock,
    LimitStrap,
    SpringSpacer,
    StrutTopSpacer,
    UpperArm,
)
from service.engine.search import Wanted

AXLES: dict[str, TapedAxle] = {
    **REFERENCES,
    **BEAMS,
    **{f"surveyed_{layout}": axle for layout, axle in SURVEYED.items()},
}
THICKNESSES = (5.0, 10.0, 15.0, 20.0, 30.0, 45.0)
FITTED_AS = {"coil_spring": "spring"}


def catalogue(seed: int) -> Wanted:
    """A search over a small catalogue, the same for the same seed."""
    chance = random.Random(seed)  # noqa: S311 — the same each time, and nothing to keep secret
    name = list(AXLES)[seed % len(AXLES)]
    taped = AXLES[name]
    axle = compile_axle(*taped, STANDARD)
    kinds = sorted(axle.traits.fits - {"accessory", "tyre"})
    if name.startswith("surveyed"):  # each change of a surveyed geometry takes a while
        kinds = [kind for kind in kinds if kind not in ("differential_spacer", "upper_arm")]
    chosen = chance.sample(kinds, chance.randint(2, min(5, len(kinds))))
    choices = {
        kind: tuple(
            ProposedPart(part(kind, taped, chance), name=f"{kind}-{number:02}")
            for number in range(chance.randint(1, 4))
        )
        for kind in chosen
    }
    if name == "surveyed_macpherson":
        choices = {kind: parts[: 1 if kind == "strut_top_spacer" else None] for kind, parts in choices.items()}
    other = [kind for kind in kinds if kind not in chosen]
    kept = tuple(ProposedPart(part(kind, taped, chance), name=f"kept-{kind}") for kind in other[: chance.randint(0, 1)])
    wish = TargetLift(Reading(chance.choice((0.0, 10.0, 25.0, 40.0))), chance.choice((None, 5.0, 20.0)))
    mass = LoadItem(Reading(chance.uniform(20, 120)), Reading(chance.uniform(-700, 3000)))
    return Wanted(
        axle, kept, choices,
        load=Load((mass,)) if chance.random() < 0.5 else Load(),
        duty=chance.choice(("sealed_road", "rock_and_articulation")),
        target=wish if chance.random() < 0.7 else None,
        most_parts=chance.choice((None, None, 2, 3)),
        near_misses=chance.choice((0, 3, 10)),
    )  # fmt: skip


def part(kind: str, taped: TapedAxle, chance: random.Random):
    """A part of a kind: what the axle has with every number a little off, or one that it does not have."""
    fitted: Fitted = taped.envelope.fitted
    has = getattr(fitted, FITTED_AS.get(kind, kind), None)
    if has is not None:
        return varied(has, chance)
    droop = next(s.arch_to_hub_mm.value for s in taped.envelope.travel.stations if s.at == "full_droop") if (
        taped.envelope.travel.stations
    ) else 600.0  # fmt: skip
    thickness = Reading(chance.choice(THICKNESSES), chance.choice((None, 0.2, 2.0)))
    made = {
        "strut_top_spacer": lambda: StrutTopSpacer(thickness),
        "spring_spacer": lambda: SpringSpacer(thickness),
        "bump_stop_spacer": lambda: BumpStopSpacer(thickness),
        "limit_strap": lambda: LimitStrap(Reading(droop + chance.choice((-220.0, -40.0, chance.uniform(-90, 60))))),
        "brake_hose": lambda: BrakeHose(Reading(droop + chance.uniform(-20, 120))),
        "upper_arm": lambda: UpperArm(None, Reading(droop + chance.uniform(-20, 90))),
        "differential_spacer": lambda: DifferentialSpacer(thickness),
        "leaf_block": lambda: LeafBlock(thickness),
    }
    return made[kind]()


def varied(has, chance: random.Random):
    changes = {}
    for field in fields(has):
        reading = getattr(has, field.name)
        if isinstance(reading, Reading) and field.name not in ("shear_modulus_mpa", "tensile_strength_mpa"):
            off = 1.0 + chance.choice((0.0, chance.uniform(-0.03, 0.05), chance.uniform(-0.1, 0.12)))
            changes[field.name] = Reading(round(reading.value * off, 1), reading.plus_minus)
    return replace(has, **changes)


def tried(wanted: Wanted) -> tuple[int, int, list[dict]]:
    """Combinations, how many of them are refused, and the others, each judged by itself through its record."""
    total = refused = 0
    judged = []
    kinds = sorted(wanted.choices)
    for chosen in product(*((None, *sorted(wanted.choices[kind], key=lambda each: each.name)) for kind in kinds)):
        parts = [*wanted.kept, *(each for each in chosen if each is not None)]
        if wanted.most_parts is not None and len(parts) > wanted.most_parts:
            continue
        total += 1
        try:
            build = assemble(wanted.axle, parts, wanted.load, wanted.duty)
        except RefusedError:
            refused += 1
            continue
        places = tuple(0 if each is None else 1 + wanted.choices[kind].index(each)
                       for kind, each in zip(kinds, chosen, strict=True))  # fmt: skip
        judged.append({"parts": parts, "places": places, **figures(evaluate([build]).record(0), wanted)})
    return total, refused, judged


def figures(record: dict, wanted: Wanted) -> dict:
    """What a record says of a combination's rank, by the documented order."""
    held = [check for check in record["checks"] if holds_back(check)]
    known = [check for check in record["checks"] if check["required"] and check["conformity_probability"] is not None]
    error, off = 0.0, []
    if wanted.target is not None:
        lift, tolerance = record["lift_mm"], wanted.target.tolerance_mm or STANDARD.lift_tolerance_mm
        distance = float("inf") if lift is None else abs(lift["value"] - wanted.target.lift_mm.value)
        error, off = round(distance, 1), ["ride_height"] if distance > tolerance else []
    worse = "marginal" if off and lift is not None and record["verdict"] == "clear" else record["verdict"]
    return {
        "verdict": worse,
        "held": sorted({check["check"] for check in held}) + off,
        "error": error,
        "nonconformity": round(1.0 - min(check["conformity_probability"] for check in known), 6) if known else 2.0,
    }


def holds_back(check: dict) -> bool:
    return check["outcome"] in (("marginal", "undetermined", "unsafe") if check["required"] else ("marginal",))


def ranked(judged: list[dict]) -> list[dict]:
    return sorted(judged, key=lambda j: (j["error"], j["nonconformity"], len(j["parts"]), j["places"]))
