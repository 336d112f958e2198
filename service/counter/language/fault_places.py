"""Where on the page a fault stands: the words of the field, in the place of a pointer into a request."""

from __future__ import annotations

from service.counter.language.reader import Reader

FIELDS = {
    "vehicle": "vehicle",
    "axle": "axle_end",
    "end": "axle_end",
    "duty": "duty",
    "target_lift_mm": "lift",
    "occupants_kg": "occupants",
    "mass_kg": "load_kg",
    "behind_front_axle_mm": "load_mm",
    "name": "load_name",
    "sku": "parts",
    "quantity": "parts",
}
"""Words of the page, by the last name of a pointer."""
OF_A_READING = ("value", "plus_minus")
OF_A_PART = ("part", "parts", "sku", "quantity", "kind")
"""What a fault of a part as a whole points at."""


def place_of(pointer: str, reader: Reader) -> str:
    """The field that a pointer means, or the pointer where the page has no words for it.

    >>> place_of("/load/accessories/0/mass_kg", Reader()), place_of("/parts/0/part/thickness_mm", Reader("de"))
    ('Mass, kg', 'Teile und Zubehör: Dicke')
    """
    tokens = [token for token in pointer.strip("/").split("/") if token not in (*OF_A_READING, "inline")]
    last = tokens[-1] if tokens else ""
    if tokens[:1] == ["parts"]:
        whole = last in OF_A_PART or last.isdigit()
        return reader.say("parts") + ("" if whole else f": {reader.dimension(last)}")
    if tokens[:1] == ["axle"] and last not in FIELDS:
        return reader.reading("/".join(tokens))
    return reader.say(FIELDS[last]) if last in FIELDS else pointer
