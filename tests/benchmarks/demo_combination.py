"""The combinations that the benchmarks judge: lifts on the demo catalogue's most fully measured axle.

One of them, an engineered lift with all that belongs to it, stands for the usual question; ``sweep`` for a whole shelf.
"""

import json
import sys
from collections.abc import Iterator
from functools import cache
from itertools import chain, cycle, islice, product
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

import service.catalogue
from service.catalogue.engine_values import engine_part, engine_value
from service.engine import (
    STANDARD,
    Axle,
    AxleEnvelope,
    Build,
    Load,
    LoadItem,
    ProposedPart,
    Reading,
    VehicleMasses,
    assemble,
    compile_axle,
)
from service.engine.envelope import Duty, End, TargetLift

VEHICLE = "tarn-300-double-cab"
END: End = "front"
KIT = ("TOV-STR-T18", "DUN-ARM-T", "DUN-DIF-T25", "PEL-HOSE-T", "DUN-STRAP-T")
LIFT = ("KES-SPR-4030", *KIT)
BAR = "SKA-BAR-38"
DUTY: Duty = "unsealed_touring"
OCCUPANTS_KG, SHIM_MM = 160.0, 12.0
TARGET_LIFT_MM = 40.0
TARGET = TargetLift(Reading(TARGET_LIFT_MM))

SHELF = (
    ((), ("KES-SPR-4030",), ("KES-SPR-0050",), ("KES-SPR-25120",), ("KES-PRO-4060",)),
    ((), ("TOV-STR-T00",), KIT),
    ((), ("KES-TOP-10",), ("KES-TOP-20",)),
    ((), ("KES-PRE-08",)),
    ((), ("PEL-STOP-T60",), ("PEL-SHIM-12",)),
)
"""What may stand in each place of a build: springs, struts, spacers on top, under the spring, at the stop."""


def request_body(occupants_kg: float = OCCUPANTS_KG, shim_mm: float = SHIM_MM, *, record: bool) -> bytes:
    """The usual question as a client asks it."""
    return json.dumps(
        {
            "axle": {"vehicle": VEHICLE, "end": END},
            "parts": [*({"sku": sku} for sku in LIFT), {"part": {"kind": "bump_stop_spacer", "thickness_mm": shim_mm}}],
            "load": {
                "accessories": [
                    {"sku": BAR},
                    {"name": "drawers and fridge", "mass_kg": 84, "behind_front_axle_mm": 2650},
                ],
                "occupants_kg": occupants_kg,
            },
            "duty": DUTY,
            "target_lift_mm": TARGET_LIFT_MM,
            "record": record,
        }
    ).encode()


@cache
def demo(what: str) -> list[dict[str, Any]]:
    bodies: list[dict[str, Any]] = json.loads(
        (Path(service.catalogue.__file__).parent / "demo" / f"{what}.json").read_text("utf-8")
    )
    return bodies


@cache
def envelope() -> AxleEnvelope:
    return engine_value(AxleEnvelope, next(a["envelope"] for a in demo("axles") if a["vehicle"] == VEHICLE))


@cache
def masses() -> VehicleMasses:
    owner = next(v for v in demo("vehicles") if v["vehicle_id"] == VEHICLE)
    return engine_value(VehicleMasses, owner["vehicle_masses"])


def compiled() -> Axle:
    return compile_axle(envelope(), masses(), END, STANDARD)


@cache
def proposed(sku: str) -> ProposedPart:
    return ProposedPart(engine_part(next(part for part in demo("parts") if part["sku"] == sku)), name=sku)


@cache
def bar() -> LoadItem:
    return engine_value(LoadItem, next(part for part in demo("parts") if part["sku"] == BAR))


def load(occupants_kg: float = OCCUPANTS_KG) -> Load:
    return Load((bar(),), Reading(occupants_kg))


def lift(axle: Axle) -> Build:
    """The usual build."""
    return assemble(axle, [proposed(sku) for sku in LIFT], load(), DUTY, TARGET)


def too_high(axle: Axle) -> Build:
    """A spring and a spacer that are too much together, with all else that belongs to a lift."""
    return assemble(axle, [proposed(sku) for sku in (*LIFT, "KES-TOP-20")], load(), DUTY, TARGET)


def sweep(axle: Axle, count: int) -> Iterator[Build]:
    """So many builds, no two alike: every choice from the shelf, over and over, each time under another load."""
    choices = cycle([tuple(chain(*chosen)) for chosen in product(*SHELF)])
    for number, skus in enumerate(islice(choices, count)):
        yield assemble(axle, [proposed(sku) for sku in skus], load(1.0 + 0.03 * number), DUTY, TARGET)
