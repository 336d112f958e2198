"""First-order uncertainty of surveyed axles against Monte Carlo: 100,000 draws of every point and part (JCGM 101).

The draws solve the linkage in bulk, directly. What second order adds is allowed: a twentieth of the spread in the mean,
3 % in the spread itself, and at the 2.5 % and 97.5 % points a quarter of it: where a single rectangle, such as the +-1
degree of a joint's limit, is most of a sum, the normal interval that the engine tells is the wider one.
"""

from dataclasses import replace

import numpy as np
import pytest
from as_computed import first_order
from reference_axles import part_of
from survey_by_hand import of_axle
from surveyed_axles import MACPHERSON, SURVEYED, TapedAxle, with_points

from service.engine import STANDARD
from service.engine.parts import StrutTopSpacer

DRAWS, CHUNK = 100_000, 4_000
DIRECTIONS = ("spin_axis", "output_axis")


class Drawn:
    """One chunk of drawn axles: points (CHUNK, 3), lengths and limits (CHUNK, 1)."""

    def __init__(self, axle: TapedAxle, random, top: float) -> None:
        self.axle, self.random, self.fitted = axle, random, axle.envelope.fitted
        base = of_axle(axle)
        at = {}
        for name, xyz in base.at.items():
            half = STANDARD.surveyed_direction if name in DIRECTIONS else STANDARD.surveyed_point_mm
            value = xyz / np.linalg.norm(xyz) if name in DIRECTIONS else xyz
            at[name] = value + half * random.uniform(-1.0, 1.0, (CHUNK, 3))
        shift = None
        self.top = top + random.uniform(-1.0, 1.0, (CHUNK, 1)) if top else np.zeros((CHUNK, 1))
        if axle.envelope.layout == "macpherson":
            along = at["strut_bottom"] - at["strut_top"]
            shift = self.top * along / np.linalg.norm(along, axis=1, keepdims=True)
        self.by_hand, self.unspaced = replace(base, at=at, pivot_shift=shift), replace(base, at=at)

    def read(self, holder, field: str):
        reading = getattr(holder, field)
        return reading.value + STANDARD.half_width(field, reading) * self.random.uniform(-1.0, 1.0, (CHUNK, 1))

    def margins(self) -> dict[str, np.ndarray]:
        """Everything that the engine is asked for, (CHUNK,) each."""
        hand, fitted, limits = self.by_hand, self.fitted, self.axle.envelope.limits
        length, offset = self.read(fitted.strut, "extended_length_mm"), self.read(fitted.strut, "seat_offset_mm")
        crush = self.read(fitted.bump_stop, "free_height_mm") - self.read(fitted.bump_stop, "crushed_height_mm")
        taken = np.zeros((CHUNK, 1)) if self.axle.envelope.layout == "macpherson" else self.top
        droop = hand.pose(hand.angle_where(hand.strut, length + taken))
        if hand.bump_stop_on == "damper_rod":
            ride = self.unspaced.strut(self.unspaced.pose(np.zeros(1)))
            room = np.linalg.norm(hand.at["bump_plate"] - hand.at["bump_stop"], axis=1, keepdims=True)
            at_bump = hand.angle_where(hand.strut, ride - room - crush + taken)
        else:
            at_bump = hand.angle_where(hand.room, -crush)
        bump = hand.pose(at_bump)
        spring = fitted.spring
        solid = self.read(spring, "total_coils") * (self.read(spring, "wire_mm") + 0.1)
        strut = hand.strut(bump) - taken
        found = {
            "arch_to_hub_mm at full_droop": hand.height(droop),
            "arch_to_hub_mm at full_bump": hand.height(bump),
            "damper_length_mm at full_bump": strut,
            "damper_bottoming at full_bump": strut - self.read(fitted.strut, "closed_length_mm"),
            "coil_bind at full_bump": strut - offset - solid,
            "spring_retention at full_droop": self.read(spring, "free_length_mm") - length + offset,
            "brake_hose at full_droop": self.read(limits["brake_hose"], "reached_at_arch_to_hub_mm")
            - hand.height(droop),
        }
        neutral = self.unspaced.pose(np.zeros(1))
        for joint in (j for j in ("upper_ball_joint", "lower_ball_joint", "tie_rod_end") if j in limits):
            most = self.read(limits[joint], "max_angle_deg")
            found[f"{joint} angle at full_droop"] = most - hand.ball_joint(joint, droop, neutral)
            found[f"{joint} angle_bump at full_bump"] = most - hand.ball_joint(joint, bump, neutral)
        inner, outer = (self.read(limits[joint], "max_angle_deg") for joint in ("inner_cv", "outer_cv"))
        found["inner_cv angle at full_droop"] = inner - hand.inner_cv(droop)
        found["inner_cv angle_bump at full_bump"] = inner - hand.inner_cv(bump)
        found["outer_cv angle at full_droop"] = outer - hand.outer_cv(droop)
        found["outer_cv angle_bump at full_bump"] = outer - hand.outer_cv(bump)
        rack = self.read(self.axle.envelope.travel.hard_points, "rack_travel_mm")
        at_droop = hand.angle_where(hand.strut, length + taken)
        for side, way in (("left", 1.0), ("right", -1.0)):
            found[f"outer_cv {side}_lock at full_droop"] = outer - hand.outer_cv(hand.pose(at_droop, way * rack))
            found[f"outer_cv {side}_lock_bump at full_bump"] = outer - hand.outer_cv(hand.pose(at_bump, way * rack))
        at_ride = np.linalg.norm(self.unspaced.shaft(neutral), axis=-1)
        plunge = np.abs(np.linalg.norm(hand.shaft(droop), axis=-1) - at_ride)
        found["inner_cv plunge at full_droop"] = self.read(limits["inner_cv"], "max_plunge_mm") - plunge
        return {name: np.broadcast_to(values, (CHUNK, 1))[:, 0] for name, values in found.items()}


def drawn(axle: TapedAxle, top: float) -> dict[str, np.ndarray]:
    random = np.random.default_rng(101)
    chunks = [Drawn(axle, random, top).margins() for _ in range(DRAWS // CHUNK)]
    return {name: np.concatenate([chunk[name] for chunk in chunks]) for name in chunks[0]}


@pytest.mark.parametrize(("layout", "top"), [("wishbone_coilover", 15.0), ("macpherson", 15.0)])
def test_margins_of_100_000_drawn_axles(layout, top):

    parts = [part_of(StrutTopSpacer, thickness_mm=top)] if top else []
    engine = first_order(SURVEYED[layout].build(parts))
    wrong = {}
    for name, values in drawn(SURVEYED[layout], top).items():
        estimate, spread = engine[name]
        told = [estimate, spread, estimate - 1.96 * spread, estimate + 1.96 * spread]
        seen = [values.mean(), values.std(), *np.quantile(values, (0.025, 0.975))]
        allowed = [0.05 * spread, 0.03 * spread, 0.25 * spread, 0.25 * spread]
        if any(abs(t - s) > a + 1e-3 for t, s, a in zip(told, seen, allowed, strict=True)):
            wrong[name] = [f"{t:.3f}/{s:.3f}" for t, s in zip(told, seen, strict=True)]
    assert not wrong


def sharp(axle: TapedAxle, half_width: float) -> TapedAxle:
    """The axle with every point surveyed to ``half_width``, and its rack's travel known exactly."""
    held = axle.envelope.travel.hard_points
    points = {
        name: tuple(replace(c, plus_minus=half_width) for c in xyz)
        for name in held.__dataclass_fields__
        if isinstance(xyz := getattr(held, name), tuple)
    }
    return with_points(axle, **points, rack_travel_mm=replace(held.rack_travel_mm, plus_minus=0.0))


@pytest.mark.parametrize("half_width", [0.2, 0.0])
@pytest.mark.parametrize("layout", SURVEYED)
def test_a_sharper_survey_makes_surer_positions(layout, half_width):
    """Also one without any doubt: what is left then comes from the parts."""
    vague, surer = SURVEYED[layout].record(), sharp(SURVEYED[layout], half_width).record()
    for before, after in zip(vague["positions"], surer["positions"], strict=True):
        assert after["arch_to_hub_mm"]["plus_minus"] < before["arch_to_hub_mm"]["plus_minus"]
        assert after["arch_to_hub_mm"]["value"] == pytest.approx(before["arch_to_hub_mm"]["value"], abs=1e-4)


def test_a_stop_on_the_rod_is_as_unsure_as_its_points():
    """Both points +-1 mm along the strut, and the pivots of the strut at ride, are in the strut's length at contact."""
    axle = sharp(MACPHERSON, 0.0)
    held = axle.envelope.travel.hard_points
    axle = with_points(axle, bump_stop=tuple(replace(c, plus_minus=3.0) for c in held.bump_stop))
    contact = next(p for p in axle.record()["positions"] if p["at"] == "bump_contact")
    assert contact["damper_length_mm"]["plus_minus"] == pytest.approx(2.0 * 3.0 / 3**0.5, rel=1e-3)
