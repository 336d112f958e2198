"""What to measure when a check cannot tell, and how, with a tape and a jack."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.engine.envelope import Station
from service.engine.positions import BUMP_CONTACT, FULL_BUMP, FULL_DROOP, RIDE
from service.engine.settled import Settled
from service.engine.told import Told
from service.engine.words import JOINTS

ARCH_TO_HUB, SEAT_GAP, DAMPER_LENGTH = range(3)
Need = tuple[str, str]
"""A pointer into the request, and how to measure what it names."""

RAISE_TO_CONTACT = (
    "With the spring out and the vehicle on stands, raise the wheel with a jack until the bump stop just touches, "
)
HOW = {
    "seat_gap_at_full_droop": "Lift the body until the wheel hangs free and tape from the lower to the upper spring seat, along the strut.",
    "seat_gap_at_bump_contact": RAISE_TO_CONTACT + "and tape from the lower to the upper spring seat, along the strut.",
    "seat_gap_at_ride": "On level ground at kerb mass, bounce the vehicle and let it settle, then tape from spring seat to spring seat.",
    "height_at_full_droop": "Lift the body until the wheel hangs free and tape from the mark on the wheel arch down to the wheel centre.",
    "height_at_bump_contact": RAISE_TO_CONTACT + "and tape from the mark on the wheel arch down to the wheel centre.",
    "height_at_ride": "On level ground at kerb mass, bounce the vehicle and let it settle, then tape from the mark on the wheel arch down "
    "to the wheel centre.",
    "wire_mm": "Measure the wire with a caliper, on bare steel, at three places.",
    "total_coils": "Count the windings from tip to tip, to a quarter of a winding.",
    "free_length_mm": "Take the spring out with a spring compressor, let it go fully, and tape its length.",
    "rate_n_per_mm": "Take the rate from the maker's data, or press the spring in a press by a taped distance and read the force.",
    "mean_diameter_mm": "Measure the coil's outer diameter with a caliper and take off one wire thickness.",
    "forming": "Ask the spring's maker whether it was coiled cold or hot.",
    "ends": "Look at the spring's ends: closed and ground, closed, or open.",
    "tensile_strength_mpa": "Ask the spring's maker for the tensile strength of the wire.",
    "free_height_mm": "Measure the bump stop's height, unloaded, from its seat to its tip.",
    "crushed_height_mm": "Squeeze the bump stop in a press, or a vice, until it gives no more, and measure the height that is left.",
    "closed_length_mm": "With the spring off, push the strut shut and tape it from mount to mount.",
    "extended_length_mm": "With the spring off, pull the strut out to its end and tape it from mount to mount.",
    "seat_offset_mm": "Tape the strut from mount to mount, and from spring seat to spring seat, in the same position: the difference.",
    "axle_kg": "Weigh the axle at kerb mass on a weighbridge.",
    "rating": "Read the rating from the maker's plate.",
    "wheelbase_mm": "Tape from wheel centre to wheel centre on one side.",
    "unsprung_kg_per_wheel": "Weigh the wheel with its tyre, and add hub, brake and half of the arms, from the maker's data.",
    "bump_stop_ratio": "Note the arch-to-hub with the stop just touching and again with it squeezed by a measured amount: squeeze over "
    "wheel travel.",
    "motion_ratio": "Tape arch-to-hub and seat gap at two wheel positions: change of the seat gap over change of arch-to-hub.",
    "limit": "With the strut out, lower the wheel on a jack until the {joint} just binds or pulls tight, and tape from the arch mark to the "
    "wheel centre.",
    "bump_limit": "With the strut out, raise the wheel on a jack until the {joint} just binds, and tape from the arch mark to the wheel centre.",
    "part": "Ask the part's maker for it, or measure the part before it is fitted.",
}


def needs(settled: Settled, row: int, finding: Told) -> Iterator[Need]:
    """What would settle an undetermined finding of one build."""
    axle, changed = settled.builds[row].axle.axle, settled.builds[row].changed
    place, check = _Place(settled, row), finding.label.check
    if check in ("coil_bind", "coil_gap_recommended"):
        yield from place.spring("wire_mm", "total_coils") if place.solid_length_unknown else ()
        yield from place.bump(SEAT_GAP, crushed=check == "coil_bind")
    if check == "damper_bottoming":
        yield from place.strut("closed_length_mm", "seat_offset_mm")
        yield from place.bump(DAMPER_LENGTH, crushed=True)
    if check == "spring_retention":
        yield from place.spring("free_length_mm")
        yield from place.strut("extended_length_mm", "seat_offset_mm") if "strut" in changed else ()
        yield from place.station("full_droop", SEAT_GAP, FULL_DROOP)
    if check == "coil_gap_recommended":
        yield from place.spring("mean_diameter_mm", "forming", "ends")
    if check == "spring_stress":
        yield from place.spring(
            "mean_diameter_mm", "forming", "tensile_strength_mpa", "rate_n_per_mm", "free_length_mm"
        )
        yield from place.bump(SEAT_GAP, crushed=True)
    if check.endswith("_travel_left") or check == "ride_height":
        yield from place.ride()
        yield from place.station("full_droop", ARCH_TO_HUB, FULL_DROOP) if check == "droop_travel_left" else ()
        yield from place.bump(ARCH_TO_HUB, crushed=False) if check == "bump_travel_left" else ()
    if check == "axle_rating":
        yield from place.masses(f"{axle.end}_axle_kg", f"{axle.end}_axle_rating_kg", "wheelbase_mm")
    if check in JOINTS:
        yield from place.joint(finding)


class _Place:
    """Looks for what is unknown in one build, and names it where the request would hold it."""

    def __init__(self, settled: Settled, row: int) -> None:
        self.build = settled.builds[row]
        self.axle = self.build.axle.axle
        self.settled, self.row = settled, row

    @property
    def solid_length_unknown(self) -> bool:
        spring = self.build.spring
        return spring is None or (spring.solid_length_mm is None and not (spring.wire_mm and spring.total_coils))

    def _unknown(self, kind: int, position: int) -> bool:
        return bool(np.isnan(self.settled.positions.values[kind, position, self.row]))

    def _stated(self, kind: str, slot: str, fields: tuple[str, ...]) -> Iterator[Need]:
        proposed = next((p.part for p in self.build.parts if p.part.kind == kind), None)
        holder = proposed or getattr(self.axle.envelope.fitted, slot)
        for name in fields:
            if getattr(holder, name, None) is None and not (
                name == "rate_n_per_mm" and getattr(holder, "force_table", None)
            ):
                yield (
                    (f"/parts/{kind}/{name}" if proposed else f"/axle/fitted/{slot}/{name}"),
                    HOW.get(name, HOW["part"]),
                )

    def spring(self, *fields: str) -> Iterator[Need]:
        return self._stated("coil_spring", "spring", fields)

    def strut(self, *fields: str) -> Iterator[Need]:
        yield from self._stated("strut", "strut", fields)
        fitted = self.axle.envelope.fitted.strut
        if (
            "strut" in self.build.changed
            and "seat_offset_mm" in fields
            and (fitted is None or fitted.seat_offset_mm is None)
        ):
            yield "/axle/fitted/strut/seat_offset_mm", HOW["seat_offset_mm"]

    def station(self, at: str, kind: int, position: int) -> Iterator[Need]:
        """The reading of a station where that position is not placed."""
        if not self._unknown(kind, position):
            return
        stations = self.axle.envelope.travel.stations
        index = next((i for i, s in enumerate(stations) if s.at == at), None)
        field = "arch_to_hub_mm" if kind == ARCH_TO_HUB else "seat_gap_mm"
        station = Station("between") if index is None else stations[index]
        if getattr(station, field) is None:
            pointer = "/axle/travel/stations" if index is None else f"/axle/travel/stations/{index}/{field}"
            yield pointer, HOW[f"{'height' if kind == ARCH_TO_HUB else 'seat_gap'}_at_{at}"]

    def bump(self, kind: int, *, crushed: bool) -> Iterator[Need]:
        """What places bump contact, and full bump if the stop's crush is asked for."""
        yield from self.station("bump_contact", kind, BUMP_CONTACT)
        if crushed and self._unknown(kind, FULL_BUMP):
            yield from self._stated("bump_stop", "bump_stop", ("free_height_mm", "crushed_height_mm"))
        if "bump_stop" in self.build.changed and self._unknown(kind, BUMP_CONTACT):
            stop = self.axle.envelope.fitted.bump_stop
            if stop is None or stop.free_height_mm is None:
                yield "/axle/fitted/bump_stop/free_height_mm", HOW["free_height_mm"]
        if "strut" in self.build.changed and self._unknown(kind, BUMP_CONTACT):
            yield from self.strut("closed_length_mm", "seat_offset_mm")

    def ride(self) -> Iterator[Need]:
        if not self._unknown(ARCH_TO_HUB, RIDE) and not np.isnan(self.settled.positions.single_values[0, self.row]):
            return
        yield from self.station("ride", ARCH_TO_HUB, RIDE)
        yield from self.spring("rate_n_per_mm", "free_length_mm")
        if self.axle.envelope.unsprung_kg_per_wheel is None:
            yield "/axle/unsprung_kg_per_wheel", HOW["unsprung_kg_per_wheel"]
        yield from self.masses(f"{self.axle.end}_axle_kg", *(["wheelbase_mm"] if self.build.load.accessories else []))

    def masses(self, *fields: str) -> Iterator[Need]:
        for name in fields:
            if getattr(self.axle.masses, name) is None:
                how = "rating" if name.endswith("rating_kg") else "axle_kg" if name.endswith("axle_kg") else name
                yield f"/axle/vehicle_masses/{name}", HOW[how]

    def joint(self, finding: Told) -> Iterator[Need]:
        check, in_bump = finding.label.check, finding.label.case == "bump"
        if check == "upper_ball_joint" and "upper_arm" in self.build.changed and not in_bump:
            yield "/parts/upper_arm/ball_joint_reached_at_arch_to_hub_mm", HOW["limit"].format(joint=JOINTS[check])
        else:
            limit = self.axle.envelope.limits.get(check)
            field = "reached_in_bump_at_arch_to_hub_mm" if in_bump else "reached_at_arch_to_hub_mm"
            if limit is None or getattr(limit, field) is None:
                how = HOW["bump_limit" if in_bump else "limit"].format(joint=JOINTS[check])
                yield f"/axle/limits/{check}" + (f"/{field}" if in_bump else ""), how
        if not self.build.axle.travel.anchored:
            yield from self._unanchored()
        elif in_bump:
            yield from self.bump(ARCH_TO_HUB, crushed=True)
        else:
            yield from self.station("full_droop", ARCH_TO_HUB, FULL_DROOP)
            yield from self.strut("extended_length_mm", "seat_offset_mm") if "strut" in self.build.changed else ()

    def _unanchored(self) -> Iterator[Need]:
        stations = self.axle.envelope.travel.stations
        index = next((i for i, s in enumerate(stations) if s.at == "full_droop"), None)
        pointer = "/axle/travel/stations" if index is None else f"/axle/travel/stations/{index}/arch_to_hub_mm"
        yield pointer, HOW["height_at_full_droop"]
