"""Beam axles and torsion bars computed from the mechanics by other means: SciPy's monotone cubic and root finder.

D(h)  length of the damper            S(h) = S0(h) - q                     coil: seat gap with spring spacers q
c(h) = c_ride + (h - h_ride) - l      leaf: camber; l block and half of the shackle's growth
T(h) = T_set + k (d_set - d(h))       bar: torque; r sin d(h) = r sin d_ride + (h - h_ride)
"""

from dataclasses import dataclass, field
from math import asin, cos, pi, radians, sin

import numpy as np
from reference_axles import TapedAxle
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from service.engine.parts import BumpStop, CoilSpring, Damper, LeafPack, TorsionBar

GRAVITY = 9.80665
FAR_MM = 300.0


class Curve:
    """A monotone cubic through stations, straight beyond them with its slope at the end."""

    def __init__(self, knots) -> None:
        knots = np.array(sorted(knots))
        self.low, self.high = knots[0, 0], knots[-1, 0]
        self.inside = PchipInterpolator(*knots.T)
        self.slope = self.inside.derivative()

    def ratio(self, h: float) -> float:
        return float(self.slope(np.clip(h, self.low, self.high)))

    def at(self, h: float) -> float:
        nearest = np.clip(h, self.low, self.high)
        return float(self.inside(nearest)) + self.ratio(h) * (h - nearest)

    def where(self, wanted: float) -> float:
        return brentq(lambda h: self.at(h) - wanted, self.low - FAR_MM, self.high + FAR_MM, xtol=1e-11)


@dataclass
class Beam:
    """One axle and one build on it. Heights are arch-to-hub, mm."""

    axle: TapedAxle
    seat_spacer: float = 0.0
    stop_spacer: float = 0.0
    block: float = 0.0
    shackle: float | None = None
    damper: Damper | None = None
    spring: CoilSpring | None = None
    pack: LeafPack | None = None
    bar: TorsionBar | None = None
    stop: BumpStop | None = None
    strap: float = np.inf
    added_kg: float = 0.0
    heights: dict = field(default_factory=dict)

    def __post_init__(self) -> None:
        stations = self.axle.envelope.travel.stations
        self.fitted = self.axle.envelope.fitted
        self.heights = {s.at: s.arch_to_hub_mm.value for s in stations}
        self.lengths = Curve([(s.arch_to_hub_mm.value, s.damper_length_mm.value) for s in stations])
        if stations[0].seat_gap_mm is not None:
            self.gaps = Curve([(s.arch_to_hub_mm.value, s.seat_gap_mm.value) for s in stations])

    @property
    def factory(self) -> "Beam":
        return Beam(self.axle)

    @property
    def now(self) -> Damper:
        return self.damper or self.fitted.damper

    def weight(self) -> float:
        kerb = getattr(self.axle.masses, f"{self.axle.end}_axle_kg").value
        return (kerb / 2.0 - self.axle.envelope.unsprung_kg_per_wheel.value + self.added_kg / 2.0) * GRAVITY

    def gas(self, h: float) -> float:
        return (self.now.gas_force_n.value if self.now.gas_force_n else 0.0) * self.lengths.ratio(h)

    def lift(self) -> float:
        longer = 0.0 if self.shackle is None else self.shackle - self.fitted.shackle.length_mm.value
        return self.block + 0.5 * longer

    def gap(self, h: float) -> float:
        """Seat gap of a coil; camber of leaves."""
        if self.axle.envelope.layout == "solid_axle_coil":
            return self.gaps.at(h) - self.seat_spacer
        pack, ride = self.fitted.leaf_pack, self.heights["ride"]
        at_ride = (
            pack.free_camber_mm.value - (self.factory.weight() - self.factory.gas(ride)) / pack.rate_n_per_mm.value
        )
        return at_ride + h - ride - self.lift()

    def full_droop(self) -> float:
        by_damper = self.lengths.where(self.now.extended_length_mm.value)
        return min(by_damper, self.strap, self.leaves_hang())

    def leaves_hang(self) -> float:
        if self.axle.envelope.layout != "solid_axle_leaf":
            return np.inf
        if self.pack is None:
            return self.heights["full_droop"] + self.lift()
        hanging = self.axle.envelope.unsprung_kg_per_wheel.value * GRAVITY / self.pack.rate_n_per_mm.value
        return self.pack.free_camber_mm.value + hanging - self.gap(0.0)

    def bump(self) -> tuple[float, float]:
        factory, stop = self.fitted.bump_stop, self.stop or self.fitted.bump_stop
        ratio = self.axle.envelope.travel.bump_stop_ratio.value
        taller = stop.free_height_mm.value - factory.free_height_mm.value + self.stop_spacer
        contact = self.heights["bump_contact"] + taller / ratio
        return contact, contact - (stop.free_height_mm.value - stop.crushed_height_mm.value) / ratio

    def articulated(self) -> tuple[float, float]:
        droop, bump = self.full_droop(), self.bump()[1]
        further = (droop - bump) / 2.0 * self.axle.envelope.track_mm.value / self.axle.envelope.spring_base_mm.value
        return (droop + bump) / 2.0 + further, (droop + bump) / 2.0 - further

    def arm(self, h: float) -> float:
        """Angle of the bar's arm below the horizontal, rad."""
        length = (self.bar or self.fitted.torsion_bar).arm_length_mm.value
        at_ride = radians(self.axle.envelope.arm_angle_at_ride_deg.value)
        return asin(sin(at_ride) + (h - self.heights["ride"]) / length)

    def torque(self, h: float) -> float:
        bar = self.bar or self.fitted.torsion_bar
        cranked = bar.adjusted_ride_arch_to_hub_mm
        where = cranked.value if cranked else self.heights["ride"]
        carried = (self if cranked else Beam(self.axle, damper=self.damper)).weight() - self.gas(where)
        d = bar.diameter_mm.value
        stiffness = bar.shear_modulus_mpa.value * pi * d**4 / 32.0 / bar.active_length_mm.value
        set_to = carried * bar.arm_length_mm.value * cos(self.arm(where))
        return set_to + stiffness * (self.arm(where) - self.arm(h))

    def spring_at_wheel(self, h: float) -> float:
        layout = self.axle.envelope.layout
        if layout == "wishbone_torsion_bar":
            return self.torque(h) / ((self.bar or self.fitted.torsion_bar).arm_length_mm.value * cos(self.arm(h)))
        if layout == "solid_axle_leaf":
            pack = self.pack or self.fitted.leaf_pack
            return pack.rate_n_per_mm.value * (pack.free_camber_mm.value - self.gap(h))
        spring = self.spring or self.fitted.spring
        pressed = max(spring.free_length_mm.value - self.gap(h), 0.0)
        return spring.rate_n_per_mm.value * pressed * self.gaps.ratio(h)

    def balance(self) -> float:
        low, high = self.heights["ride"] - 200.0, self.heights["ride"] + 200.0
        return brentq(lambda h: self.spring_at_wheel(h) + self.gas(h) - self.weight(), low, high, xtol=1e-11)

    def ride(self) -> float:
        if self.bar is not None and self.bar.adjusted_ride_arch_to_hub_mm:
            free = self.bar.adjusted_ride_arch_to_hub_mm.value
        else:
            free = self.heights["ride"] + self.balance() - self.factory.balance()
        return float(np.clip(free, self.bump()[0], self.full_droop()))
