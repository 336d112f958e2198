"""Two axles of our own invention, measured as fully as a tape allows, on which a build of no parts is clear throughout.

Nobody makes them. The springs carry the masses at the taped ride, to within what a tape can tell.
"""

from typing import NamedTuple

from service.engine import (
    STANDARD,
    AxleEnvelope,
    Build,
    Fitted,
    Limit,
    Load,
    ProposedPart,
    Reading,
    Station,
    Travel,
    VehicleMasses,
    assemble,
    compile_axle,
    evaluate,
)
from service.engine.envelope import End
from service.engine.parts import BumpStop, CoilSpring, Part, Strut
from service.engine.policy import Policy

Record = dict


class TapedAxle(NamedTuple):
    """All that anybody knows of one axle."""

    envelope: AxleEnvelope
    masses: VehicleMasses | None
    end: End = "front"

    def build(self, parts=(), load: Load | None = None, policy: Policy = STANDARD, **options) -> Build:
        return assemble(compile_axle(*self, policy), proposed(parts), load, **options)

    def record(self, parts=(), load: Load | None = None, policy: Policy = STANDARD, **options) -> Record:
        return evaluate([self.build(parts, load, policy, **options)]).record(0)


def proposed(parts) -> list[ProposedPart]:
    """Parts, or pairs of a part and its quantity, as a request would propose them."""
    pairs = [part if isinstance(part, tuple) else (part, 1) for part in parts]
    return [ProposedPart(part, quantity, pointer=f"/parts/{i}/part") for i, (part, quantity) in enumerate(pairs)]


def checks_of(record: Record) -> dict[str, Record]:
    return {check["check"]: check for check in record["checks"]}


def station(at, height=None, gap=None, length=None) -> Station:
    return Station(at, *(None if value is None else Reading(float(value)) for value in (height, gap, length)))


def part_of(kind: type[Part], **dimensions) -> Part:
    """A part with each bare number made a reading; what is a table, a word or a reading already stays so."""
    bare = (int, float)
    return kind(
        **{
            name: Reading(float(value)) if isinstance(value, bare) and name != "wire_tolerance_mm" else value
            for name, value in dimensions.items()
        }
    )


WISHBONE = TapedAxle(
    AxleEnvelope(
        "wishbone_coilover",
        Travel(
            (
                station("full_droop", 628, 318, 549),
                station("ride", 544, 267.5, 498.5),
                station("bump_contact", 462, 219.5, 450.5),
                station("between", 396, 182, 413),  # taped with the stop taken off: full bump lies inside the stations
            ),
            bump_stop_ratio=Reading(0.60),
        ),
        driven=True,
        bump_stop_on="arm",
        fitted=Fitted(
            spring=part_of(
                CoilSpring, wire_mm=16.5, total_coils=9, free_length_mm=390, rate_n_per_mm=59, active_coils=7,
                mean_diameter_mm=121, ends="closed_ground", forming="cold", wire_tolerance_mm=0.1,
                tensile_strength_mpa=1850,
            ),
            strut=part_of(Strut, extended_length_mm=549, closed_length_mm=400, seat_offset_mm=231, gas_force_n=220),
            bump_stop=part_of(BumpStop, free_height_mm=58, crushed_height_mm=28),
        ),
        limits={
            "upper_ball_joint": Limit(Reading(650.0), Reading(390.0)),
            "lower_ball_joint": Limit(Reading(664.0), Reading(386.0)),
            "tie_rod_end": Limit(Reading(661.0), Reading(388.0)),
            "inner_cv": Limit(Reading(648.0)),
            "outer_cv": Limit(Reading(656.0)),
            "brake_hose": Limit(Reading(668.0)),
        },
        unsprung_kg_per_wheel=Reading(52.0),
    ),
    VehicleMasses(
        wheelbase_mm=Reading(2940.0), front_axle_kg=Reading(1003.0), rear_axle_kg=Reading(845.0),
        front_axle_rating_kg=Reading(1420.0), rear_axle_rating_kg=Reading(1650.0), gross_rating_kg=Reading(2900.0),
    ),
)  # fmt: skip

MACPHERSON = TapedAxle(
    AxleEnvelope(
        "macpherson",
        Travel(
            (
                station("full_droop", 611, 331, 561),
                station("ride", 521, 243, 473),
                station("bump_contact", 472, 195.5, 425.5),
                station("between", 436, 161, 391),
            ),
        ),
        driven=True,
        fitted=Fitted(
            spring=part_of(
                CoilSpring, wire_mm=13, total_coils=7, free_length_mm=385, rate_n_per_mm=25.4, active_coils=5,
                mean_diameter_mm=130, ends="closed_ground", forming="cold", wire_tolerance_mm=0.1,
                tensile_strength_mpa=1950,
            ),
            strut=part_of(Strut, extended_length_mm=561, closed_length_mm=383, seat_offset_mm=230, gas_force_n=160),
            bump_stop=part_of(BumpStop, free_height_mm=45, crushed_height_mm=21),
        ),
        limits={
            "lower_ball_joint": Limit(Reading(640.0), Reading(425.0)),
            "tie_rod_end": Limit(Reading(644.0), Reading(427.0)),
            "inner_cv": Limit(Reading(633.0)),
            "outer_cv": Limit(Reading(638.0)),
            "brake_hose": Limit(Reading(651.0)),
        },
        unsprung_kg_per_wheel=Reading(41.0),
    ),
    VehicleMasses(
        wheelbase_mm=Reading(2615.0), front_axle_kg=Reading(828.0), rear_axle_kg=Reading(560.0),
        front_axle_rating_kg=Reading(1090.0), rear_axle_rating_kg=Reading(980.0), gross_rating_kg=Reading(1950.0),
    ),
)  # fmt: skip

REFERENCES = {"wishbone_coilover": WISHBONE, "macpherson": MACPHERSON}
