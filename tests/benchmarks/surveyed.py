"""What a survey costs: compiling a surveyed wishbone, and evaluations on it beside those on a taped axle.

    python tests/benchmarks/surveyed.py [--rows 2000] [--rounds 5]

Processor time, the best of several rounds in one process on one core. Taped and surveyed take turns, so that both meet
the machine in the same mood; their ratio is the median of the rounds'. Both axles are wishbones of the demo catalogue,
their builds alike: a spring, a strut, a hose and a spacer at the bump stop, under a load. No part of them changes the
surveyed geometry, so it is compiled once.
"""

import argparse
from collections.abc import Sequence
from functools import partial
from statistics import median

import demo_combination as demo
from processor_time import best

from service.catalogue.engine_values import engine_value
from service.engine import STANDARD, Axle, AxleEnvelope, Build, VehicleMasses, assemble, compile_axle, evaluate
from service.engine.positions import factory_positions

PARTS = {
    "taped": (demo.VEHICLE, ("KES-SPR-4030", "TOV-STR-T18", "PEL-HOSE-T", "PEL-SHIM-12")),
    "surveyed": ("stenmoor-340-wagon", ("KES-SPR-S3540", "TOV-STR-S17", "PEL-HOSE-S", "PEL-SHIM-12")),
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=2000, help="builds in bulk")
    parser.add_argument("--rounds", type=int, default=9, help="repeats of which the best counts")
    options = parser.parse_args()
    builds: dict[str, list[Build]] = {}
    for grade, (vehicle, skus) in PARTS.items():
        seconds = best(lambda vehicle=vehicle: factory_positions(axle_of(vehicle).under(demo.DUTY)), options.rounds)
        print(f"{f'compile a {grade} wishbone':<44}{1e3 * seconds:>10,.2f} ms", flush=True)
        builds[grade] = list(under_loads(axle_of(vehicle), skus, options.rows))
    for name, count in (("one evaluation", 1), ("in bulk", options.rows)):
        taken = [_round(builds, count) for _ in range(options.rounds)]
        for grade in PARTS:
            quickest = min(each[grade] for each in taken)
            figure, unit = (1e6 * quickest, "us") if count == 1 else (count / quickest, "builds/s")
            print(f"{f'{name}, {grade}':<44}{figure:>10,.1f} {unit}", flush=True)
        ratio = median(each["surveyed"] / each["taped"] for each in taken)
        print(f"{f'{name}, surveyed / taped':<44}{ratio:>10,.2f} x", flush=True)


def _round(builds: dict[str, list[Build]], count: int) -> dict[str, float]:
    """Seconds that so many builds of each grade take."""
    return {grade: best(partial(evaluate, some[:count]), 1) for grade, some in builds.items()}


def axle_of(vehicle: str) -> Axle:
    """The front axle of a demo vehicle, not compiled yet."""
    body = next(a["envelope"] for a in demo.demo("axles") if (a["vehicle"], a["end"]) == (vehicle, demo.END))
    masses = next(v["vehicle_masses"] for v in demo.demo("vehicles") if v["vehicle_id"] == vehicle)
    return compile_axle(engine_value(AxleEnvelope, body), engine_value(VehicleMasses, masses), demo.END, STANDARD)


def under_loads(axle: Axle, skus: Sequence[str], count: int) -> list[Build]:
    """The same parts under so many loads."""
    parts = [demo.proposed(sku) for sku in skus]
    return [assemble(axle, parts, demo.load(1.0 + 0.1 * number), demo.DUTY) for number in range(count)]


if __name__ == "__main__":
    main()
