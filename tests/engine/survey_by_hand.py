"""A surveyed axle computed from the solved linkage directly, position by position, for many draws of its points.

The linkage itself is held against a multibody library elsewhere; here are the spans, angles and the roots of them, by
other formulas than the engine's: the inverse cosine, rotations multiplied out, a secant method over the arm's angle.
Points are (R, 3), mm; angles (R, P) rad; results (R, P).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from surveyed_axles import SURVEYED

from service.engine.linkage import MacphersonPoints, WishbonePoints, solve_macpherson, solve_wishbone

POINTS = (
    "lower_arm_front", "lower_arm_rear", "lower_ball_joint", "rack_end", "tie_rod_end", "wheel_centre", "spin_axis",
    "strut_top", "strut_bottom",
)  # fmt: skip
UPPER = ("upper_arm_front", "upper_arm_rear", "upper_ball_joint")
SOCKETS = {"upper_ball_joint": "upper_arm", "lower_ball_joint": "lower_arm", "tie_rod_end": "tie_rod"}


def points_of(axle) -> dict[str, np.ndarray]:
    """Every surveyed point as (1, 3)."""
    held = axle.envelope.travel.hard_points
    named = {name: getattr(held, name) for name in held.__dataclass_fields__}
    return {name: np.array([[c.value for c in xyz]]) for name, xyz in named.items() if isinstance(xyz, tuple)}


def norm(v):
    return np.sqrt((v * v).sum(axis=-1))


def between_deg(u, v):
    return np.degrees(np.arccos(np.clip((u * v).sum(axis=-1) / (norm(u) * norm(v)), -1.0, 1.0)))


@dataclass
class Direct:
    """The linkage of an axle; ``pivot_shift`` of a MacPherson strut's top, ``arm`` another upper arm's ball joint."""

    layout: str
    at: Mapping[str, np.ndarray]
    bump_stop_on: str = "arm"
    strut_bottom_on: str = "lower_arm"
    pivot_shift: np.ndarray | None = None
    arm: np.ndarray | None = None
    neutral: object = field(default=None)

    def pose(self, angle, shift=0.0):
        linkage = {name: self.at[name] for name in POINTS}
        if self.layout == "macpherson":
            return solve_macpherson(MacphersonPoints(**linkage, pivot_shift=self.pivot_shift), angle, shift)
        upper = {name: self.at[name] for name in UPPER}
        points = WishbonePoints(
            **linkage, **upper, strut_bottom_on=self.strut_bottom_on, replaced_upper_ball_joint=self.arm
        )
        return solve_wishbone(points, angle, shift)

    def height(self, pose):
        return self.at["arch_mark"][:, None, 2] - pose.wheel_centre[..., 2]

    def strut(self, pose):
        top = self.at["strut_top"] if self.pivot_shift is None else self.at["strut_top"] + self.pivot_shift
        body = pose.upright if self.layout == "macpherson" else getattr(pose, self.strut_bottom_on)
        return norm(body.of_point(self.at["strut_bottom"]) - top[:, None])

    def room(self, pose):
        """Room left to the bump stop, along the line from stop to plate; along the strut for one on its rod."""
        line = self.at["bump_plate"] - self.at["bump_stop"]
        if self.bump_stop_on == "damper_rod":
            design = self.strut(Direct(self.layout, self.at, strut_bottom_on=self.strut_bottom_on).pose(np.zeros(1)))
            return self.strut(pose) - design + norm(line)[:, None]
        moves, rests, way = ("bump_stop", "bump_plate", -1) if self.bump_stop_on == "arm" else (
            "bump_plate", "bump_stop", 1,
        )  # fmt: skip
        apart = way * (pose.lower_arm.of_point(self.at[moves]) - self.at[rests][:, None])
        return (apart * (line / norm(line)[:, None])[:, None]).sum(axis=-1)

    def ball_joint(self, joint, pose, neutral=None):
        """Turn of the pin in its socket since the neutral pose: the pin seen from the socket's body, then and now."""
        top = self.at["strut_top"] if self.layout == "macpherson" else self.at["upper_ball_joint"]
        pin = (top - self.at["lower_ball_joint"])[:, None]

        def seen(of):
            socket = getattr(of, SOCKETS[joint]).rotation
            return np.einsum("...ji,...j->...i", socket, np.einsum("...ij,...j->...i", of.upright.rotation, pin))

        return between_deg(seen(pose), seen(self.pose(np.zeros(1)) if neutral is None else neutral))

    def shaft(self, pose):
        return pose.upright.of_point(self.at["outer_cv"]) - self.at["inner_cv"][:, None]

    def inner_cv(self, pose):
        return between_deg(self.shaft(pose), self.at["output_axis"][:, None])

    def outer_cv(self, pose):
        return between_deg(self.shaft(pose), pose.spin_axis)

    def plunge(self, pose):
        """Shaft length against its length at ride: longer is positive."""
        return norm(self.shaft(pose)) - norm(self.shaft(self.pose(np.zeros(1))))

    def camber(self, pose):
        return -np.degrees(np.arcsin(pose.spin_axis[..., 2]))

    def toe(self, pose):
        return np.degrees(np.arctan(pose.spin_axis[..., 0] / pose.spin_axis[..., 1]))

    def hose(self, pose):
        return norm(pose.upright.of_point(self.at["hose_upright"]) - self.at["hose_body"][:, None])

    def angle_where(self, quantity: Callable, wanted, first=(-0.05, 0.05)) -> np.ndarray:
        """Arm angle (R, 1) at which ``quantity(pose)`` is ``wanted`` (R, 1), by the secant method."""
        rows = len(self.at["strut_top"])
        one, two = (np.full((rows, 1), each) for each in first)
        off_one = quantity(self.pose(one)) - wanted
        for _ in range(12):
            off_two = quantity(self.pose(two)) - wanted
            step = np.where(
                off_two == off_one, 0.0, off_two * (two - one) / np.where(off_two == off_one, 1.0, off_two - off_one)
            )
            one, off_one, two = two, off_two, two - step
            if np.abs(step).max() < 1e-11:
                break
        return two


def direct(layout: str, **options) -> Direct:
    return of_axle(SURVEYED[layout], **options)


def of_axle(axle, **options) -> Direct:
    envelope = axle.envelope
    usual = "damper_rod" if envelope.layout == "macpherson" else "arm"
    on = envelope.travel.hard_points.strut_bottom_on or "lower_arm"
    return Direct(envelope.layout, points_of(axle), envelope.bump_stop_on or usual, on, **options)
