"""What sets the layouts apart: which spring they have, which joints, what may be fitted to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BumpStopOn = Literal["arm", "body", "damper_rod"]
Spring = Literal["coil", "leaf", "torsion_bar"]

FRONT_END_JOINTS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end")
DRIVE_JOINTS = ("inner_cv", "outer_cv")
ANYWHERE = frozenset({"bump_stop", "bump_stop_spacer", "limit_strap", "brake_hose", "accessory", "tyre"})
ON_A_STRUT = frozenset({"coil_spring", "strut", "strut_top_spacer", "spring_spacer"})


@dataclass(frozen=True, slots=True)
class LayoutTraits:
    """``called`` in a sentence; ``spring`` the kind of spring; ``strut`` whether spring and damper are one part.

    ``ball_joints`` bend with the wheel's travel, ``drive_joints`` where the axle is driven; ``fits`` are the kinds of
    part that have a place on it.
    """

    called: str
    spring: Spring
    strut: bool
    ball_joints: tuple[str, ...]
    drive_joints: tuple[str, ...]
    fits: frozenset[str]
    bump_stop_on: BumpStopOn = "arm"

    @property
    def solid(self) -> bool:
        """One axle beam from wheel to wheel: neither joints nor drive shafts bend with the wheel's travel."""
        return not self.ball_joints


LAYOUTS: dict[str, LayoutTraits] = {
    "wishbone_coilover": LayoutTraits(
        "double-wishbone axle with coil-overs", "coil", strut=True,
        ball_joints=FRONT_END_JOINTS, drive_joints=DRIVE_JOINTS,
        fits=ANYWHERE | ON_A_STRUT | {"upper_arm", "differential_spacer"},
    ),
    "macpherson": LayoutTraits(
        "MacPherson axle", "coil", strut=True,
        ball_joints=FRONT_END_JOINTS[1:], drive_joints=DRIVE_JOINTS,
        fits=ANYWHERE | ON_A_STRUT | {"differential_spacer"}, bump_stop_on="damper_rod",
    ),
    "wishbone_torsion_bar": LayoutTraits(
        "double-wishbone axle with torsion bars", "torsion_bar", strut=False,
        ball_joints=FRONT_END_JOINTS, drive_joints=DRIVE_JOINTS,
        fits=ANYWHERE | {"torsion_bar", "damper", "upper_arm", "differential_spacer"},
    ),
    "solid_axle_coil": LayoutTraits(
        "solid axle with coil springs", "coil", strut=False,
        ball_joints=(), drive_joints=(), fits=ANYWHERE | {"coil_spring", "spring_spacer", "damper"},
    ),
    "solid_axle_leaf": LayoutTraits(
        "solid axle with leaf springs", "leaf", strut=False,
        ball_joints=(), drive_joints=(), fits=ANYWHERE | {"leaf_pack", "leaf_block", "shackle", "damper"},
    ),
}  # fmt: skip
