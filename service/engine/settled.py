"""What is left of a chunk of builds once it is decided: plain numbers, one a build, ready to be put into words."""

from __future__ import annotations

from dataclasses import dataclass

from numpy import bool_
from numpy.typing import NDArray

from service.engine.build import Build
from service.engine.checks.finding import Label
from service.engine.decision import Codes
from service.engine.sensitivity import Array


@dataclass(frozen=True, slots=True)
class SettledPositions:
    """Numbers as read and their standard uncertainties.

    ``values`` and ``spreads`` (5, 4, n): arch-to-hub, seat gap, strut length, motion ratio and spring force at the four
    positions; ``single_values`` and ``single_spreads`` (8, n): lift, arch-to-hub where the coil is solid and where the
    damper is closed, crush available, free length, bump-stop ratio, and arch-to-hub of an articulated solid axle's
    lower and upper wheel; ``stance`` and ``stance_spreads`` (2 or 0, 4, n): camber and toe of a surveyed axle.
    """

    values: Array
    spreads: Array
    single_values: Array
    single_spreads: Array
    stance: Array
    stance_spreads: Array

    def articulated(self, wheel: int, row: int) -> tuple[float, float]:
        return float(self.single_values[6 + wheel, row]), float(self.single_spreads[6 + wheel, row])


@dataclass(frozen=True, slots=True)
class Settled:
    """Findings of n builds on one axle, in the order of the checks; arrays (f, n) but for ``verdict`` (n,).

    ``judged`` and ``spreads`` (f, 3, n) are margin, bound and shortness of the factory with their standard
    uncertainties; ``shares`` (f, 2, n, k) what each of the ``readings`` contributes to those of margin and bound.
    ``as_read`` (q, n) holds value, limit and details of each finding one after another, the details
    named by ``detail_names``.
    """

    builds: tuple[Build, ...]
    labels: tuple[Label, ...]
    detail_names: tuple[tuple[str, ...], ...]
    as_read: Array
    codes: Codes
    by_bound: NDArray[bool_]
    by_factory: NDArray[bool_]
    judged: Array
    spreads: Array
    shares: Array
    readings: tuple[str, ...]
    verdict: Codes
    positions: SettledPositions
