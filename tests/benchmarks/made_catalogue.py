"""A catalogue made for benchmarks, of any size: axles and parts around the demo's most fully measured axle."""

import json
from collections.abc import Iterator
from itertools import count, cycle, islice
from typing import Any, NamedTuple

from demo_combination import END, VEHICLE, demo
from search import made

from service.catalogue.engine_values import body_of

ENDS = ("front", "rear")
SHARES = {
    "coil_spring": 8,
    "strut": 3,
    "strut_top_spacer": 3,
    "bump_stop": 2,
    "spring_spacer": 2,
    "bump_stop_spacer": 2,
}
"""Of every twenty parts so many are of each kind."""
SHARE_OF = sum(SHARES.values())


class Size(NamedTuple):
    """How many axles and parts; ``for_any`` parts suit every axle, each other one suits one of them."""

    axles: int
    parts: int
    for_any: int

    @property
    def combinations(self) -> int:
        return self.axles * self.for_any + self.parts - self.for_any


def size_of(axles: int, parts: int, combinations: int) -> Size:
    """About so many combinations of a part with an axle that it suits."""
    for_any = round((combinations - parts) / max(1, axles - 1))
    return Size(axles, parts, min(parts, max(0, for_any)))


def json_lines(size: Size) -> bytes:
    """The catalogue as an import takes it."""
    return b"\n".join(json.dumps(body).encode() for body in (*_vehicles(size.axles), *_parts(size)))


def axle_name(number: int) -> tuple[str, str]:
    return f"invented-{number // 2:03}", ENDS[number % 2]


def _vehicles(axles: int) -> Iterator[dict[str, Any]]:
    """Vehicles that differ in their masses, with two axles alike in build, measured a little differently."""
    owner = next(body for body in demo("vehicles") if body["vehicle_id"] == VEHICLE)
    envelope = next(body["envelope"] for body in demo("axles") if (body["vehicle"], body["end"]) == (VEHICLE, END))
    masses = {**owner["vehicle_masses"]}
    masses["rear_axle_kg"], masses["rear_axle_rating_kg"] = masses["front_axle_kg"], masses["front_axle_rating_kg"]
    for number in range(0, axles, 2):
        heavier = {**masses, "gross_rating_kg": _value(masses["gross_rating_kg"]) + number}
        yield {"vehicle_id": axle_name(number)[0], "name": f"Invented {number}", "vehicle_masses": heavier}
    for number in range(axles):
        vehicle, end = axle_name(number)
        yield {"vehicle": vehicle, "end": end, **envelope, "unsprung_kg_per_wheel": 55.0 + number % 10 / 10}


def _parts(size: Size) -> Iterator[dict[str, Any]]:
    kinds = list(islice(cycle([kind for kind, share in SHARES.items() for _ in range(share)]), size.parts))
    bodies = {kind: (body_of(each.part) for each in made(kind, kinds.count(kind))) for kind in set(kinds)}
    # strewn, so that parts for any axle and parts for one are alike
    for number, kind in zip(count(), kinds, strict=False):
        fits = [] if number < size.for_any else ["/".join(axle_name(number % size.axles))]
        sku = f"INV-{number:06}"
        yield {"sku": sku, "name": f"Part {number}", "supplier": "Invented", "fits": fits, **next(bodies[kind])}


def _value(reading: Any) -> float:
    return float(reading["value"] if isinstance(reading, dict) else reading)
