"""One axle and one build on it, computed from the mechanics by other means: SciPy's monotone cubic and root finder.

    S0(h)  seat gap of the factory strut          S(h) = S0(h) - t - q - (p - p0)
    D0(h)  its length, mount to mount             D(h) = D0(h) - t

t strut-top spacers, q spring spacers, p and p0 the seat offsets of the strut in the build and of the factory's.
"""

from dataclasses import dataclass, field

import numpy as np
from reference_axles import TapedAxle
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from service.engine.parts import BumpStop, CoilSpring, Strut

GRAVITY = 9.80665
FAR_MM = 400.0


@dataclass
class ByHand:
    """One axle and one build on it, by SciPy. Heights are arch-to-hub, mm."""

    axle: TapedAxle
    top: float = 0.0
    seat_spacer: float = 0.0
    stop_spacer: float = 0.0
    strut: Strut | None = None
    spring: CoilSpring | None = None
    stop: BumpStop | None = None
    strap: float = np.inf
    added_kg: float = 0.0
    points: dict = field(default_factory=dict)

    def __post_init__(self) -> None:
        envelope = self.axle.envelope
        self.points = {
            s.at: (s.arch_to_hub_mm.value, s.seat_gap_mm.value) for s in envelope.travel.stations if s.arch_to_hub_mm
        }
        knots = np.array(sorted(self.points.values()))
        self.ends = knots[0], knots[-1]
        if len(knots) == 2:  # a straight line
            slope = (knots[1, 1] - knots[0, 1]) / (knots[1, 0] - knots[0, 0])
            self.inside, self.slope = (lambda h: knots[0, 1] + slope * (h - knots[0, 0])), lambda _: slope
        else:
            self.inside = PchipInterpolator(*knots.T, extrapolate=False)
            self.slope = self.inside.derivative()
        self.factory = envelope.fitted

    def gap0(self, h: float) -> float:
        """The factory's seat gap; outside of the stations the end slope goes on."""
        low, high = self.ends
        inside = np.clip(h, low[0], high[0])
        return float(self.inside(inside)) + self.ratio(h) * (h - inside)

    def ratio(self, h: float) -> float:
        low, high = self.ends
        return float(self.slope(np.clip(h, low[0], high[0])))

    def where(self, gap0: float) -> float:
        return brentq(lambda h: self.gap0(h) - gap0, self.ends[0][0] - FAR_MM, self.ends[1][0] + FAR_MM, xtol=1e-11)

    @property
    def offset0(self) -> float:
        return self.factory.strut.seat_offset_mm.value

    def gap(self, h: float) -> float:
        moved = (self.strut.seat_offset_mm.value - self.offset0) if self.strut else 0.0
        return self.gap0(h) - self.top - self.seat_spacer - moved

    def length(self, h: float) -> float:
        return self.gap0(h) + self.offset0 - self.top

    def full_droop(self) -> float:
        extended = (self.strut or self.factory.strut).extended_length_mm.value
        return min(self.where(extended - self.offset0 + self.top), self.strap)

    def growth(self) -> float:
        taller = (self.stop.free_height_mm.value - self.factory.bump_stop.free_height_mm.value) if self.stop else 0.0
        return taller + self.stop_spacer

    def crush(self) -> float:
        stop = self.stop or self.factory.bump_stop
        return stop.free_height_mm.value - stop.crushed_height_mm.value

    def bump(self) -> tuple[float, float]:
        """Where the stop touches, and where it is crushed."""
        contact, gap_at_contact = self.points["bump_contact"]
        if self.axle.envelope.layout == "macpherson":
            shorter = (
                self.strut.closed_length_mm.value - self.factory.strut.closed_length_mm.value if self.strut else 0.0
            )
            touches = gap_at_contact + self.growth() + shorter + self.top
            return self.where(touches), self.where(touches - self.crush())
        ratio = self.axle.envelope.travel.bump_stop_ratio.value
        contact += self.growth() / ratio
        return contact, contact - self.crush() / ratio

    def weight(self) -> float:
        masses, unsprung = self.axle.masses, self.axle.envelope.unsprung_kg_per_wheel.value
        return (masses.front_axle_kg.value / 2.0 - unsprung + self.added_kg / 2.0) * GRAVITY

    def spring_force(self, h: float) -> float:
        spring = self.spring or self.factory.spring
        pressed = max(spring.free_length_mm.value - self.gap(h), 0.0)
        if spring.force_table is None:
            return pressed * spring.rate_n_per_mm.value
        table = np.array(spring.force_table)
        beyond = (table[-1, 1] - table[-2, 1]) / (table[-1, 0] - table[-2, 0])
        return float(np.interp(pressed, *table.T)) + beyond * max(pressed - table[-1, 0], 0.0)

    def balance(self) -> float:
        """Where spring and gas carry the weight, between the ends of the travel."""
        gas = (self.strut or self.factory.strut).gas_force_n
        gas_force = gas.value if gas else 0.0

        def surplus(h: float) -> float:
            return (self.spring_force(h) + gas_force) * self.ratio(h) - self.weight()

        low, high = self.bump()[0], self.full_droop()
        if surplus(low) <= 0.0:
            return low
        return high if surplus(high) >= 0.0 else brentq(surplus, low, high, xtol=1e-11)

    def ride(self) -> float:
        """The taped ride, moved by as much as the balance moves; the ends of the travel hold it."""
        factory = ByHand(self.axle)
        low, high = self.bump()[0], self.full_droop()
        return float(np.clip(factory.points["ride"][0] + self.balance() - factory.balance(), low, high))

    def rides_free(self) -> bool:
        """Whether spring and weight meet between the ends of the travel; a wheel held at an end is tested apart."""
        return self.bump()[0] < self.balance() < self.full_droop()

    def hard_contact(self) -> tuple[str, float]:
        """Going up from ride, what is hard first."""
        spring = self.spring or self.factory.spring
        solid = spring.wire_mm.value * spring.total_coils.value if spring.ends is None else None
        if solid is None:
            added = {"cold": {"closed_ground": 0.0}}[spring.forming][spring.ends]
            solid = (spring.total_coils.value + added) * (spring.wire_mm.value + spring.wire_tolerance_mm)
        closed = (self.strut or self.factory.strut).closed_length_mm.value
        places = {
            "spring": self.where(self.gap0(500.0) - self.gap(500.0) + solid),
            "damper": self.where(closed - self.offset0 + self.top),
            "bump_stop": self.bump()[1],
        }
        first = max(places, key=places.get)
        return first, places[first]
