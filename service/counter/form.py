"""A build as the page's form states it, in the query string: so an address is a build."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from urllib.parse import urlencode

READING = "reading:"
MANY = ("sku", "part", "load_name", "load_kg", "load_mm")
ONCE = ("vehicle", "end", "occupants_kg", "lift_mm", "duty", "measured_on")
OF_THE_PAGE = ("lang", "units")
DUTIES = ("sealed_road", "unsealed_touring", "rock_and_articulation")
ENDS = ("front", "rear")
Pairs = Iterable[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Mass:
    """A mass on board that is in no catalogue, as typed."""

    name: str
    mass_kg: str
    behind_front_axle_mm: str


@dataclass(frozen=True, slots=True)
class Form:
    """Everything as typed; nothing of it is believed yet.

    ``parts`` are in no catalogue, each as the API's JSON; ``readings`` were taken at the counter, by their pointers, on
    the axle ``measured_on``; where that is not stated, on the form's own. ``strange`` are names that no field has, and
    ``contrary`` names of fields that are stated twice in different ways: what they would have changed nobody can tell.
    """

    vehicle: str = ""
    end: str = "front"
    skus: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    masses: tuple[Mass, ...] = ()
    occupants_kg: str = ""
    target_lift_mm: str = ""
    duty: str = DUTIES[-1]
    readings: Mapping[str, str] = field(default_factory=dict)
    measured_on: str = ""
    strange: tuple[str, ...] = ()
    contrary: tuple[str, ...] = ()

    @property
    def axle(self) -> str:
        return f"{self.vehicle}/{self.end}"

    def with_readings_of_its_axle(self) -> Form:
        """The form without what was measured on another axle; what was measured of parts stays."""
        if self.measured_on in ("", self.axle):
            kept = self.readings
        else:
            kept = {pointer: text for pointer, text in self.readings.items() if not pointer.startswith("/axle/")}
        return replace(self, readings=kept, measured_on=self.axle if kept else "")

    def pairs(self) -> list[tuple[str, str]]:
        """The form as its query states it, without what was left empty."""
        pairs = [("vehicle", self.vehicle), ("end", self.end), *(("sku", sku) for sku in self.skus)]
        pairs += [("part", part) for part in self.parts]
        for mass in self.masses:
            pairs += [("load_name", mass.name), ("load_kg", mass.mass_kg), ("load_mm", mass.behind_front_axle_mm)]
        pairs += [("occupants_kg", self.occupants_kg), ("lift_mm", self.target_lift_mm), ("duty", self.duty)]
        pairs += [(READING + pointer, text) for pointer, text in self.readings.items()]
        pairs += [("measured_on", self.measured_on)]
        return [(name, text) for name, text in pairs if text or name.startswith("load_")]

    def address(self, **more: str) -> str:
        return "/counter?" + urlencode([*self.pairs(), *more.items()])


DEMO = Form("tarn-300-double-cab", skus=("KES-SPR-4030", "KES-TOP-20"), duty="unsealed_touring")
"""The build that the page opens on: a spring and a spacer that each seem harmless, and together are not."""


def without_nul(text: str) -> str:
    r"""A text without the one sign that nothing has in its name, and that databases refuse.

    >>> without_nul("KES\0-TOP-20")
    'KES-TOP-20'
    """
    return text.replace("\0", "")


def form_of(pairs: Pairs) -> Form:
    """The form of a query's pairs.

    >>> form_of([("vehicle", " tarn "), ("sku", "A"), ("sku", ""), ("sku", "B")]).skus
    ('A', 'B')
    >>> form_of([("skuu", "A"), ("occupants_kg", "150"), ("occupants_kg", "0")]).strange
    ('skuu',)
    """
    stated: dict[str, list[str]] = {}
    for name, text in pairs:
        stated.setdefault(name, []).append(without_nul(text).strip())
    last = {name: texts[-1] for name, texts in stated.items()}
    columns = (stated.get(name, []) for name in ("load_name", "load_kg", "load_mm"))
    rows = zip_longest(*columns, fillvalue="")  # an address that leaves one of them out states a mass nevertheless
    once = [name for name in stated if name in ONCE or name.startswith(READING)]
    return Form(
        last.get("vehicle", ""),
        last.get("end", ENDS[0]),
        tuple(sku for sku in stated.get("sku", []) if sku),
        tuple(part for part in stated.get("part", []) if part),
        tuple(Mass(*row) for row in rows if any(row)),
        last.get("occupants_kg", ""),
        last.get("lift_mm", ""),
        last.get("duty", DUTIES[-1]),
        {name.removeprefix(READING): text for name, text in last.items() if name.startswith(READING) and text},
        last.get("measured_on", ""),
        tuple(name for name in stated if name not in (*once, *MANY, *OF_THE_PAGE)),
        tuple(name for name in once if len({text for text in stated[name] if text}) > 1),
    )
