"""The mechanics and the decision: pure, array-shaped, standard library and NumPy only."""

from __future__ import annotations

from service.engine.assembling import assemble
from service.engine.axle import Axle, compile_axle
from service.engine.build import Build, ProposedPart
from service.engine.envelope import (
    AxleEnvelope,
    Fitted,
    Limit,
    Load,
    LoadItem,
    Station,
    Travel,
    VehicleMasses,
)
from service.engine.evaluation import Verdicts, evaluate
from service.engine.plausible import check_part
from service.engine.plausible_axle import check_envelope
from service.engine.policy import POLICIES, STANDARD, Policy
from service.engine.reading import Reading
from service.engine.refusal import Fault, RefusedError

ENGINE_VERSION = "7"
"""Changes with every change of a formula or a rule: a verdict can be replayed with the version that gave it."""

__all__ = [
    "ENGINE_VERSION",
    "POLICIES",
    "STANDARD",
    "Axle",
    "AxleEnvelope",
    "Build",
    "Fault",
    "Fitted",
    "Limit",
    "Load",
    "LoadItem",
    "Policy",
    "ProposedPart",
    "Reading",
    "RefusedError",
    "Station",
    "Travel",
    "VehicleMasses",
    "Verdicts",
    "assemble",
    "check_envelope",
    "check_part",
    "compile_axle",
    "evaluate",
]
