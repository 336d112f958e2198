"""One proposed combination: its references looked up, its values made the engine's, every fault by its pointer."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

from service.catalogue.engine_values import engine_part, engine_value, reading
from service.catalogue.references import (
    AxleHead,
    AxleName,
    CataloguedPart,
    Lookup,
    PartHead,
    PartsOnAxle,
    PartsOnAxleName,
    Standing,
    inline_axle,
)
from service.database import canonical
from service.engine import Axle, Build, ProposedPart
from service.engine.assembling import unladen
from service.engine.envelope import Load, LoadItem, TargetLift
from service.engine.parts import Accessory
from service.engine.refusal import Fault, RefusedError

Body = dict[str, Any]
MOST_PARTS = 100
"""Of one build, entries of the request and parts of its kits alike."""


@dataclass(frozen=True, slots=True)
class Combination:
    """A build ready to be judged, and the heads of what it names.

    ``axle`` is the catalogue's, or the one of the vehicle on which it was measured where it came ``inline``; none where
    nobody said on which.
    """

    build: Build
    end: str
    axle: AxleName | None
    axle_head: AxleHead | None
    part_heads: dict[str, PartHead]
    inline: bool

    @property
    def vehicle_revision(self) -> int | None:
        return None if self.axle_head is None else self.axle_head.vehicle_revision

    @property
    def axle_revision(self) -> int | None:
        return None if self.axle_head is None or self.inline else self.axle_head.axle_revision

    @property
    def part_revisions(self) -> dict[str, int]:
        return {sku: part.revision for sku, part in sorted(self.part_heads.items())}


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a question describes as the engine's values, not yet put together, and the heads of what it names."""

    axle: Axle
    parts: tuple[ProposedPart, ...]
    load: Load
    target: TargetLift | None
    axle_head: AxleHead | None
    part_heads: dict[str, PartHead]
    in_request: Callable[[RefusedError], RefusedError]
    """The engine's faults with pointers into the request."""


def combine(references: Lookup, question: Body) -> Combination:
    """The build that a checked question describes. Raises ``RefusedError``; pointers are into the request."""
    return _Question(references, question).combination()


def is_at_hand(references: Lookup, question: Body) -> bool:
    """Whether ``combine`` need not look anything up."""
    return _Question(references, question).before() is not None


def propose(references: Lookup, question: Body) -> Proposal:
    """The axle, parts and load of a checked question. Raises ``RefusedError`` where one cannot be by itself."""
    return _Question(references, question).proposal()


def named(question: Body) -> tuple[AxleName | None, list[str]]:
    """What a question names of the catalogue: its axle, or on whose it was measured, and parts by their SKUs."""
    axle = question["axle"]
    vehicle = axle.get("measured_on" if is_inline(question) else "vehicle")
    entries = (*question["parts"], *question.get("load", {}).get("accessories", ()))
    skus = [entry["sku"] for entry in entries if "sku" in entry]
    return None if vehicle is None else (vehicle, axle["end"]), skus


def is_inline(question: Body) -> bool:
    """Whether the question brings the readings of its axle with it."""
    return "inline" in question["axle"]


def look_up(catalogue: Lookup, questions: Iterable[Body]) -> None:
    """Read what questions rest on: one query for all that they name, one for what the kits among it hold."""
    heads = catalogue.heads(None, {sku for question in questions for sku in named(question)[1]})[1]
    catalogue.heads(None, inside_kits(catalogue, heads))


def inside_kits(catalogue: Lookup, heads: Mapping[str, PartHead]) -> set[str]:
    """The SKUs that the kits among some parts hold."""
    return {inside for sku, head in heads.items() for inside, _ in catalogue.part(sku, head.revision).contents}


class _Question:
    """One question, and the heads of what it names once they were looked up."""

    def __init__(self, references: Lookup, question: Body) -> None:
        self.references = references
        self.body = question
        self.axle: Body = question["axle"]
        self.parts: list[Body] = question["parts"]
        self.accessories: list[Body] = question.get("load", {}).get("accessories", [])
        self.named, self.skus = named(question)
        self.inline = is_inline(question)
        self.axle_head: AxleHead | None = None
        self.part_heads: dict[str, PartHead] = {}

    def combination(self) -> Combination:
        """Parts that were put on their axle before are not looked at again; only what is on board is new."""
        before = self.before()
        on_axle = before or self._put_on_axle()
        self.axle_head, self.part_heads = on_axle.axle_head, on_axle.part_heads
        load, origins = self._load()
        try:
            build = on_axle.unladen.with_load(load, self._target())
        except RefusedError as refused:
            raise self._all_in_request(refused, origins) from None
        if before is None and self.name is not None and isinstance(self.references, Standing):
            self.references.keep_parts_on_axle(self.name, on_axle)
        return Combination(build, build.axle.axle.end, self.named, self.axle_head, self.part_heads, self.inline)

    def before(self) -> PartsOnAxle | None:
        """The parts on their axle, where they have been put there at this state of the catalogue."""
        if self.name is None or not isinstance(self.references, Standing):
            return None
        return self.references.parts_on_axle(self.name)

    def proposal(self) -> Proposal:
        axle, parts = self._axle_and_parts()
        load, origins = self._load()
        in_request = partial(self._all_in_request, origins=origins)
        return Proposal(axle, parts, load, self._target(), self.axle_head, self.part_heads, in_request)

    @cached_property
    def name(self) -> PartsOnAxleName | None:
        """What the parts on their axle are known by, be it for another load; nothing where the axle has no name."""
        if self.named is None or self.inline:
            return None
        parts = tuple((_known_by(entry), entry["quantity"]) for entry in self.parts)
        on_board = tuple(entry["sku"] for entry in self.accessories if "sku" in entry)
        return self.named, self.body["policy"], self.body["duty"], parts, on_board

    def _put_on_axle(self) -> PartsOnAxle:
        axle, parts = self._axle_and_parts()
        return PartsOnAxle(unladen(axle, parts, self.body["duty"]), self.axle_head, self.part_heads)

    def _axle_and_parts(self) -> tuple[Axle, tuple[ProposedPart, ...]]:
        """Raises ``RefusedError`` where something that the question names is not there, or not for this axle."""
        self.axle_head, self.part_heads = self.references.heads(self.named, self.skus)
        if inside := inside_kits(self.references, self.part_heads):
            self.part_heads |= self.references.heads(None, inside)[1]
        faults = [*self._axle_faults(), *self._part_faults()]
        if faults:
            raise RefusedError(faults)
        proposed = [part for index, entry in enumerate(self.parts) for part in self._proposed(index, entry)]
        if len(proposed) > MOST_PARTS:
            detail = f"With what its kits hold this build has {len(proposed)} parts: {MOST_PARTS} are the most."
            raise RefusedError([Fault("/parts", detail)])
        return self._axle(), tuple(proposed)

    def _axle_faults(self) -> Iterator[Fault]:
        if self.named is None:
            return
        (vehicle, end), head, at = self.named, self.axle_head, "/axle/measured_on" if self.inline else "/axle/vehicle"
        if head is None:
            yield Fault(at, f"The catalogue has no vehicle {vehicle}.")
        elif not head.active:
            yield Fault(at, f"The vehicle {vehicle} has been withdrawn.")
        elif head.axle_revision is None and not self.inline:
            yield Fault("/axle/end", f"Nobody has measured the {end} axle of {vehicle} yet.")

    def _part_faults(self) -> Iterator[Fault]:
        for index, entry in enumerate(self.parts):
            if "sku" in entry:
                yield from self._sku_faults(entry["sku"], f"/parts/{index}/sku")
        for index, entry in enumerate(self.accessories):
            if "sku" in entry:
                at = f"/load/accessories/{index}/sku"
                faults = list(self._sku_faults(entry["sku"], at))
                yield from faults
                if not faults and not isinstance(self._catalogued(entry["sku"]).part, Accessory):
                    yield Fault(at, f"{entry['sku']} is no accessory: put it among the parts.")

    def _sku_faults(self, sku: str, at: str) -> Iterator[Fault]:
        head: PartHead | None = self.part_heads.get(sku)
        if head is None:
            yield Fault(at, f"The catalogue has no part {sku}.")
        elif not head.active:
            yield Fault(at, f"{sku} has been withdrawn: it must not go into a new build.")
        elif self.named is not None and not self._catalogued(sku).suits(*self.named):
            yield Fault(at, f"{sku} is not sold for the {self.named[1]} axle of {self.named[0]}.")
        else:
            for inside, _ in self._catalogued(sku).contents:
                yield from (Fault(at, f"In the kit {sku}: {fault.detail}") for fault in self._inside_faults(inside, at))

    def _inside_faults(self, sku: str, at: str) -> Iterator[Fault]:
        """Of a part in a kit. It may have become a kit itself since; what such a one holds nobody has looked up."""
        if sku in self.part_heads and self._catalogued(sku).contents:
            return iter([Fault(at, f"{sku} has become a kit itself: a kit holds single parts.")])
        return self._sku_faults(sku, at)

    def _catalogued(self, sku: str) -> CataloguedPart:
        return self.references.part(sku, self.part_heads[sku].revision)

    def _axle(self) -> Axle:
        policy = self.body["policy"]
        if self.inline:
            given = {name: self.axle[name] for name in ("inline", "vehicle_masses") if name in self.axle}
            try:
                return inline_axle(canonical(given), self.axle["end"], policy)
            except RefusedError as error:
                raise RefusedError([_below_axle(fault) for fault in error.faults]) from None
        name, head = self.named, self.axle_head
        assert name is not None and head is not None and head.axle_revision is not None  # noqa: PT018, S101 — as above
        try:
            return self.references.axle(*name, head.vehicle_revision, head.axle_revision, policy)
        except RefusedError as error:
            raise RefusedError([Fault("/axle", fault.detail) for fault in error.faults]) from None

    def _proposed(self, index: int, entry: Body) -> Iterator[ProposedPart]:
        """The part of an entry, or the parts of its kit, which have places below that entry."""
        at, number = f"/parts/{index}", entry["quantity"]
        if "sku" not in entry:
            yield ProposedPart(engine_part(entry["part"]), number, "", f"{at}/part")
            return
        catalogued = self._catalogued(entry["sku"])
        if catalogued.part is not None:
            yield ProposedPart(catalogued.part, number, entry["sku"], at)
        for place, (sku, quantity) in enumerate(catalogued.contents):
            part = self._catalogued(sku).part
            assert part is not None  # noqa: S101 — else it was refused above
            yield ProposedPart(part, number * quantity, sku, f"{at}/parts/{place}")

    def _target(self) -> TargetLift | None:
        wanted = self.body.get("target_lift_mm")
        return None if wanted is None else TargetLift(reading(wanted), self.body.get("lift_tolerance_mm"))

    def _load(self) -> tuple[Load, list[int]]:
        """What is on board, and of each mass which entry of the request it comes from."""
        items: list[LoadItem] = []
        origins: list[int] = []
        for index, entry in enumerate(self.accessories):
            if "sku" in entry:
                part = self._catalogued(entry["sku"]).part
                assert isinstance(part, Accessory)  # noqa: S101 — else it was refused above
                assert part.mass_kg is not None and part.behind_front_axle_mm is not None  # noqa: PT018, S101
                item = LoadItem(part.mass_kg, part.behind_front_axle_mm, entry["sku"])
            else:
                item = engine_value(LoadItem, entry)
            quantity = entry.get("quantity", 1)
            items += [item] * quantity
            origins += [index] * quantity
        occupants = self.body.get("load", {}).get("occupants_kg")
        return Load(tuple(items), None if occupants is None else reading(occupants)), origins

    def _all_in_request(self, refused: RefusedError, origins: list[int]) -> RefusedError:
        return RefusedError([self._in_request(fault, origins) for fault in refused.faults])

    def _in_request(self, fault: Fault, origins: list[int]) -> Fault:
        """The engine numbers the masses on board; the request numbers its entries, and has SKUs in place of parts."""
        on_board = re.match(r"/load/accessories/(\d+)", fault.pointer)
        if on_board:
            index = origins[int(on_board[1])]
            rest = fault.pointer[on_board.end() :]
            return Fault(
                f"/load/accessories/{index}" + ("/sku" if "sku" in self.accessories[index] else rest), fault.detail
            )
        among_parts = re.match(r"(/parts/(\d+))(?:/parts/(\d+))?", fault.pointer)
        if among_parts and "sku" in self.parts[int(among_parts[2])]:
            at, place, inside = among_parts.groups()
            return _of_named(fault, at) if inside is None else self._of_kit(fault, at, int(place), int(inside))
        return fault

    def _of_kit(self, fault: Fault, at: str, place: int, inside: int) -> Fault:
        """A fault of one part of a kit, at the entry that names the kit."""
        kit, number = self.parts[place]["sku"], self.parts[place]["quantity"]
        sku, _ = self._catalogued(kit).contents[inside]
        by_number = number > 1 and fault.pointer.endswith("/quantity")
        return Fault(f"{at}/{'quantity' if by_number else 'sku'}", f"In the kit {kit}, {sku}: {fault.detail}")


def _known_by(entry: Body) -> str | bytes:
    return entry["sku"] if "sku" in entry else canonical(entry["part"])


def _of_named(fault: Fault, at: str) -> Fault:
    return fault if fault.pointer.endswith("/quantity") else Fault(f"{at}/sku", fault.detail)


def _below_axle(fault: Fault) -> Fault:
    return fault.below("/axle" if fault.pointer.startswith("/vehicle_masses") else "/axle/inline")
