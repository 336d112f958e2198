"""A new spring under a weight that nobody knows: where the vehicle rides cannot be told."""

from service.engine import (
    STANDARD,
    AxleEnvelope,
    Fitted,
    ProposedPart,
    Reading,
    Station,
    Travel,
    assemble,
    compile_axle,
    evaluate,
)
from service.engine.parts import CoilSpring

STATIONS = (
    Station("full_droop", Reading(606.0), Reading(322.0)),
    Station("ride", Reading(528.0), Reading(275.0)),
    Station("bump_contact", Reading(450.0), Reading(228.0)),
)
SPRING = CoilSpring(Reading(15.0), Reading(9.0), Reading(400.0), Reading(70.0))


def test_a_new_spring_under_an_unknown_weight():
    axle = compile_axle(AxleEnvelope("wishbone_coilover", Travel(STATIONS), fitted=Fitted()), None, "front", STANDARD)
    record = evaluate([assemble(axle, [ProposedPart(SPRING)])]).record(0)
    told = {check["check"]: check for check in record["checks"]}
    assert record["lift_mm"] is None
    assert record["positions"][1]["arch_to_hub_mm"] is None
    assert {told[name]["outcome"] for name in ("bump_travel_left", "droop_travel_left")} == {"undetermined"}
    fields = [missing["field"] for missing in record["missing"] if "bump_travel_left" in missing["needed_for"]]
    assert "/axle/vehicle_masses/front_axle_kg" in fields
