"""Where on the page a fault stands: the words of the field, in the place of a pointer into a request."""

from __future__ import annotations

from service.counter.language.reader import Reader

FIELDS = {
    "vehicle": "vehicle",
    "end": "axle_end",
    "duty": "duty",
    "target_lift_mm": "lift",
    "occupants_kg": "occupants",
    "mass_kg": "load_kg",
    "behind_front_axle_mm": "load_mm",
}
"""Words of the page, by the last name of a pointer."""


def place_of(pointer: str, reader: Reader) -> str:
    """The field that a pointer means, or the pointer where the page has no words for it.

    >>> place_of("/load/accessories/0/mass_kg", Reader()), place_of("/parts/0/part/thickness_mm", Reader("de"))
    ('Mass, kg', 'Teile und Zubehör: Dicke')
    """
    top, *below = pointer.strip("/").split("/")
    last = below[-1] if below else top
    if top == "parts":
        stated = last.endswith(("_mm", "_deg", "_n", "_mpa", "_coils"))
        return reader.say("parts") + (f": {reader.dimension(last)}" if stated else "")
    if top == "axle" and len(below) > 1:
        return reader.reading(pointer)
    return reader.say(FIELDS[last]) if last in FIELDS else pointer
