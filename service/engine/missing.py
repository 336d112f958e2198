"""What to measure when a check cannot tell, and how: each datum is named where the request would hold it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from service.engine.envelope import Station
from service.engine.how_to_measure import HOW
from service.engine.places import BUMP_CONTACT, FULL_BUMP, FULL_DROOP, RIDE
from service.engine.settled import Settled
from service.engine.told import Told
from service.engine.words import JOINTS

Need = tuple[str, str]
"""A pointer into the request, and how to measure what it names."""
ARCH_TO_HUB, SEAT_GAP, DAMPER_LENGTH = range(3)
TAPED_AS = (("arch_to_hub_mm", "height"), ("seat_gap_mm", "seat_gap"), ("damper_length_mm", "damper_length"))
"""The station's field, and the name in HOW, of each row of the settled positions."""
DAMPERS = {"strut", "damper"}


def needs(settled: Settled, row: int, finding: Told) -> Iterator[Need]:
    """What would settle an undetermined finding of one build."""
    unknown = _Unknown(settled, row)
    if finding.label.check in JOINTS:
        yield from unknown.joint(finding)
    else:
        yield from NEEDS[finding.label.check](unknown)


class _Unknown:
    """Looks for what is unknown in one build, and names it where the request would hold it."""

    def __init__(self, settled: Settled, row: int) -> None:
        self.build = settled.builds[row]
        self.axle = self.build.axle.axle
        self.settled, self.row = settled, row

    def coil_bind(self) -> Iterator[Need]:
        yield from self._solid_length()
        yield from self.bump(SEAT_GAP, crushed=True)

    def coil_gap_recommended(self) -> Iterator[Need]:
        yield from self._solid_length()
        yield from self.bump(SEAT_GAP, crushed=False)
        yield from self.spring("mean_diameter_mm", "forming", "ends")

    def damper_bottoming(self) -> Iterator[Need]:
        yield from self.damper("closed_length_mm")
        yield from self.bump(DAMPER_LENGTH, crushed=True)

    def spring_retention(self) -> Iterator[Need]:
        yield from self.spring("free_length_mm")
        yield from self.damper("extended_length_mm") if self.build.changed & DAMPERS else ()
        yield from self.station("full_droop", SEAT_GAP, FULL_DROOP)

    def spring_stress(self) -> Iterator[Need]:
        yield from self.spring("mean_diameter_mm", "forming", "tensile_strength_mpa", "rate_n_per_mm", "free_length_mm")
        yield from self.bump(SEAT_GAP, crushed=True)

    def spring_buckling(self) -> Iterator[Need]:
        yield from self.spring("free_length_mm", "mean_diameter_mm")
        yield from self.bump(SEAT_GAP, crushed=True)

    def bar_stress(self) -> Iterator[Need]:
        yield from self._stated("torsion_bar", "torsion_bar", BAR_FIELDS)
        yield from self.ride()
        yield from self.bump(ARCH_TO_HUB, crushed=True)

    def leaf_over_deflection(self) -> Iterator[Need]:
        yield from self._stated("leaf_pack", "leaf_pack", ("rate_n_per_mm", "free_camber_mm", "max_deflection_mm"))
        yield from self.ride()
        yield from self.bump(SEAT_GAP, crushed=True)

    def damper_topping(self) -> Iterator[Need]:
        yield from self._stated("leaf_pack", "leaf_pack", ("rate_n_per_mm", "free_camber_mm"))
        yield from self.ride()
        yield from self.damper("extended_length_mm")

    def bump_travel_left(self) -> Iterator[Need]:
        yield from self.ride()
        yield from self.bump(ARCH_TO_HUB, crushed=False)

    def droop_travel_left(self) -> Iterator[Need]:
        yield from self.ride()
        yield from self.station("full_droop", ARCH_TO_HUB, FULL_DROOP)

    def axle_rating(self) -> Iterator[Need]:
        end = self.axle.end
        yield from self.masses(f"{end}_axle_kg", f"{end}_axle_rating_kg", *self._to_share())
        if self.axle.masses.gross_rating_kg is not None:
            yield from self.masses("front_axle_kg", "rear_axle_kg")

    def _to_share(self) -> tuple[str, ...]:
        """What shares a load between the axles: occupants sit at a share of the wheelbase, whatever it is."""
        return ("wheelbase_mm",) if self.build.load.accessories else ()

    def _solid_length(self) -> Iterator[Need]:
        spring = self.build.spring
        if spring is None or spring.solid_length_mm is None:
            yield from self.spring("wire_mm", "total_coils")

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

    def damper(self, field: str) -> Iterator[Need]:
        """A length of the strut, or damper; and of a strut what tells its length from the seat gap."""
        kind = "strut" if self.axle.traits.strut else "damper"
        yield from self._stated(kind, kind, (field, "seat_offset_mm") if kind == "strut" else (field,))
        fitted = self.axle.envelope.fitted.strut
        if "strut" in self.build.changed and (fitted is None or fitted.seat_offset_mm is None):
            yield "/axle/fitted/strut/seat_offset_mm", HOW["seat_offset_mm"]
        if kind == "damper":
            yield from self.station("full_droop", DAMPER_LENGTH, FULL_DROOP)

    def tyre(self) -> Iterator[Need]:
        if "tyre" in self.build.changed:
            dimensions, fitted = ("overall_diameter_mm", "section_width_mm"), self.axle.envelope.fitted.tyre
            yield from self._stated("tyre", "tyre", dimensions)
            for name in dimensions:
                if getattr(fitted, name, None) is None:
                    yield f"/axle/fitted/tyre/{name}", HOW[f"fitted_{name}"]
        if self.build.axle.travel.tyre_gap is None:
            yield "/axle/travel/stations", HOW["tyre_gap"]
        yield from self.bump(ARCH_TO_HUB, crushed=True)

    def station(self, at: str, kind: int, position: int) -> Iterator[Need]:
        """The reading of a station where that position is not placed."""
        if not self._unknown(kind, position):
            return
        if self.axle.surveyed:
            yield from self._surveyed_station(at)
            return
        stations = self.axle.envelope.travel.stations
        index = next((i for i, s in enumerate(stations) if s.at == at), None)
        field, what = TAPED_AS[SEAT_GAP if kind == DAMPER_LENGTH and self.axle.traits.strut else kind]
        station = Station("between") if index is None else stations[index]
        if getattr(station, field) is None:
            pointer = "/axle/travel/stations" if index is None else f"/axle/travel/stations/{index}/{field}"
            yield pointer, HOW[f"{what}_at_{at}"]

    def _surveyed_station(self, at: str) -> Iterator[Need]:
        """What places a position of a surveyed axle: the strut's length, or the room left to the stop."""
        points = self.axle.envelope.travel.hard_points
        if at == "full_droop":
            yield from self.damper("extended_length_mm")
        elif at == "bump_contact":
            for name in ("bump_stop", "bump_plate"):
                if getattr(points, name) is None:
                    yield f"/axle/travel/hard_points/{name}", HOW[name]

    def bump(self, kind: int, *, crushed: bool) -> Iterator[Need]:
        """What places bump contact, and full bump if the stop's crush is asked for."""
        yield from self.station("bump_contact", kind, BUMP_CONTACT)
        if crushed and self._unknown(kind, FULL_BUMP):
            yield from self._stated("bump_stop", "bump_stop", ("free_height_mm", "crushed_height_mm"))
        if "bump_stop" in self.build.changed and self._unknown(kind, BUMP_CONTACT):
            stop = self.axle.envelope.fitted.bump_stop
            if stop is None or stop.free_height_mm is None:
                yield "/axle/fitted/bump_stop/free_height_mm", HOW["free_height_mm"]
        if self.build.changed & DAMPERS and self._unknown(kind, BUMP_CONTACT):
            yield from self.damper("closed_length_mm")
            slot = "strut" if self.axle.traits.strut else "damper"
            fitted = getattr(self.axle.envelope.fitted, slot)
            if self.axle.bump_stop_on_rod and (fitted is None or fitted.closed_length_mm is None):
                yield f"/axle/fitted/{slot}/closed_length_mm", HOW["closed_length_mm"]

    def ride(self) -> Iterator[Need]:
        if not self._unknown(ARCH_TO_HUB, RIDE) and not np.isnan(self.settled.positions.single_values[0, self.row]):
            return
        yield from self.station("ride", ARCH_TO_HUB, RIDE)
        yield from self.spring("rate_n_per_mm", "free_length_mm") if self.axle.traits.spring == "coil" else ()
        if self.axle.traits.spring == "leaf":
            yield from self._stated("leaf_pack", "leaf_pack", ("rate_n_per_mm", "free_camber_mm"))
        if self.axle.traits.spring == "torsion_bar":
            yield from self._stated("torsion_bar", "torsion_bar", BAR_FIELDS[:-1])
        if self.axle.envelope.unsprung_kg_per_wheel is None:
            yield "/axle/unsprung_kg_per_wheel", HOW["unsprung_kg_per_wheel"]
        yield from self.masses(f"{self.axle.end}_axle_kg", *self._to_share())

    def masses(self, *fields: str) -> Iterator[Need]:
        for name in fields:
            if getattr(self.axle.masses, name) is None:
                how = "rating" if name.endswith("rating_kg") else "axle_kg" if name.endswith("axle_kg") else name
                yield f"/axle/vehicle_masses/{name}", HOW[how]

    def linkage_lock(self) -> Iterator[Need]:
        yield from self.damper("extended_length_mm")
        yield from self.bump(ARCH_TO_HUB, crushed=True)

    def _by_angle(self, finding: Told) -> Iterator[Need]:
        check, field = finding.label.check, ANGLE_LIMITS[finding.label.case]
        how = HOW[field].format(joint=JOINTS[check])
        if check == "upper_ball_joint" and "upper_arm" in self.build.changed:
            yield "/parts/upper_arm/ball_joint_max_angle_deg", how
        elif getattr(self.axle.envelope.limits.get(check), field, None) is None:
            yield f"/axle/limits/{check}/{field}", how
        place = FULL_BUMP if finding.label.at == "full_bump" else FULL_DROOP
        if finding.label.case in LOCKS and np.isnan(finding.value) and not self._unknown(ARCH_TO_HUB, place):
            yield (
                "/axle/travel/hard_points/rack_travel_mm",
                HOW["rack_travel_mm"],
            )  # by the one given it cannot get there
        yield from (
            self.bump(ARCH_TO_HUB, crushed=True)
            if finding.label.at == "full_bump"
            else self.damper("extended_length_mm")
        )

    def joint(self, finding: Told) -> Iterator[Need]:
        if finding.label.case in ANGLE_LIMITS:
            yield from self._by_angle(finding)
            return
        check, in_bump = finding.label.check, finding.label.at == "full_bump"
        if check == "shackle_past_line" and "shackle" in self.build.changed:
            yield "/parts/shackle/reached_at_arch_to_hub_mm", HOW["limit"].format(joint=JOINTS[check])
        elif check == "upper_ball_joint" and "upper_arm" in self.build.changed and not in_bump:
            yield "/parts/upper_arm/ball_joint_reached_at_arch_to_hub_mm", HOW["limit"].format(joint=JOINTS[check])
        else:
            name = "shackle" if check == "shackle_past_line" else check
            limit = self.axle.envelope.limits.get(name)
            field = "reached_in_bump_at_arch_to_hub_mm" if in_bump else "reached_at_arch_to_hub_mm"
            if limit is None or getattr(limit, field) is None:
                how = HOW["bump_limit" if in_bump else "limit"].format(joint=JOINTS[check])
                yield f"/axle/limits/{name}" + (f"/{field}" if in_bump else ""), how
        if not self.build.axle.travel.anchored:
            yield from self._unanchored()
        if in_bump:
            yield from self.bump(ARCH_TO_HUB, crushed=True)
        else:
            yield from self.station("full_droop", ARCH_TO_HUB, FULL_DROOP)
            yield from self.damper("extended_length_mm") if self.build.changed & DAMPERS else ()

    def _unanchored(self) -> Iterator[Need]:
        """Arch-to-hub at a station where a span was taped too, full droop rather than another: it anchors the rest."""
        stations = self.axle.envelope.travel.stations
        spanned = [i for i, s in enumerate(stations) if s.at != "between" and (s.seat_gap_mm or s.damper_length_mm)]
        index = min(spanned, key=lambda i: stations[i].at != "full_droop", default=None)
        at = "full_droop" if index is None else stations[index].at
        pointer = "/axle/travel/stations" if index is None else f"/axle/travel/stations/{index}/arch_to_hub_mm"
        yield pointer, HOW[f"height_at_{at}"]


LOCKS = ("left_lock", "right_lock", "left_lock_bump", "right_lock_bump")
BAR_FIELDS = ("diameter_mm", "active_length_mm", "arm_length_mm", "shear_modulus_mpa", "permissible_stress_mpa")
ANGLE_LIMITS = {
    "angle": "max_angle_deg",
    "angle_bump": "max_angle_deg",
    **dict.fromkeys(LOCKS, "max_angle_deg"),
    "plunge": "max_plunge_mm",
}
NEEDS: dict[str, Callable[[_Unknown], Iterator[Need]]] = {
    "coil_bind": _Unknown.coil_bind,
    "coil_gap_recommended": _Unknown.coil_gap_recommended,
    "damper_bottoming": _Unknown.damper_bottoming,
    "spring_retention": _Unknown.spring_retention,
    "spring_stress": _Unknown.spring_stress,
    "spring_buckling": _Unknown.spring_buckling,
    "bar_stress": _Unknown.bar_stress,
    "leaf_over_deflection": _Unknown.leaf_over_deflection,
    "damper_topping": _Unknown.damper_topping,
    "bump_travel_left": _Unknown.bump_travel_left,
    "droop_travel_left": _Unknown.droop_travel_left,
    "ride_height": _Unknown.ride,
    "tyre_clearance": _Unknown.tyre,
    "axle_rating": _Unknown.axle_rating,
    "linkage_lock": _Unknown.linkage_lock,
}
