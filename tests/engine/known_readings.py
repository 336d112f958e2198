"""What is known of an axle or a part, reading by reading: list it, forget it, give it back, widen it.

A reading is named by its pointer: /travel/stations/0/seat_gap_mm, /fitted/spring/wire_mm, /limits/inner_cv/…,
/vehicle_masses/wheelbase_mm.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace

from reference_axles import TapedAxle

from service.engine import Reading

NEEDED = {"layout", "driven", "bump_stop_on", "at", "kind"}
"""Fields that say what a thing is, not how large it is."""


def readings_in(value, pointer: str = "") -> Iterator[tuple[str, object]]:
    """Every stated datum below ``value``: readings, tables, words such as ends and forming."""
    if isinstance(value, Reading | str | float) or (isinstance(value, tuple) and value and isinstance(value[0], tuple)):
        yield pointer, value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from readings_in(item, f"{pointer}/{key}")
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from readings_in(item, f"{pointer}/{index}")
    elif is_dataclass(value):
        for field in fields(value):
            if field.name not in NEEDED:
                yield from readings_in(getattr(value, field.name), f"{pointer}/{field.name}")


def axle_readings(axle: TapedAxle) -> dict[str, object]:
    masses = dict(readings_in(axle.masses, "/vehicle_masses"))
    return dict(readings_in(axle.envelope)) | masses


def put(value, steps: list[str], datum):
    """``value`` with what stands at ``steps`` replaced by ``datum``; frozen values are copied."""
    if not steps:
        return datum
    step, rest = steps[0], steps[1:]
    if isinstance(value, Mapping):
        return {**value, step: put(value[step], rest, datum)}
    if isinstance(value, tuple):
        return tuple(put(item, rest, datum) if str(i) == step else item for i, item in enumerate(value))
    return replace(value, **{step: put(getattr(value, step), rest, datum)})


def with_datum(axle: TapedAxle, pointer: str, datum) -> TapedAxle:
    steps = pointer.split("/")[1:]
    if steps[0] == "vehicle_masses":
        return axle._replace(masses=put(axle.masses, steps[1:], datum))
    return axle._replace(envelope=put(axle.envelope, steps, datum))


def without(axle: TapedAxle, *pointers: str) -> TapedAxle:
    """The axle as known to somebody who never took these readings; a station with nothing taped is no station."""
    for pointer in pointers:
        axle = with_datum(axle, pointer, None)
    taped = tuple(s for s in axle.envelope.travel.stations if any(True for _ in readings_in(s)))
    travel = replace(axle.envelope.travel, stations=taped)
    return axle._replace(envelope=replace(axle.envelope, travel=travel))


def without_below(axle: TapedAxle, *prefixes: str) -> TapedAxle:
    """The axle with every reading below these pointers forgotten."""
    return without(axle, *(p for p in axle_readings(axle) if any(p.startswith(prefix) for prefix in prefixes)))


def widened(reading: Reading, field: str, by: float, policy) -> Reading:
    """A reading that is less sure by ``by``, in its own unit."""
    return Reading(reading.value, policy.half_width(field, reading) + by)
