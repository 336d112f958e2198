"""A double wishbone and a MacPherson strut of our own invention, surveyed by hard points. mm; left wheel; nobody's."""

from dataclasses import replace

from reference_axles import TapedAxle, part_of

from service.engine import AxleEnvelope, Fitted, Limit, Reading, Travel, VehicleMasses
from service.engine.envelope import HardPoints
from service.engine.parts import BumpStop, CoilSpring, Strut


def at(*xyz: float) -> tuple[Reading, Reading, Reading]:
    x, y, z = (Reading(float(each)) for each in xyz)
    return x, y, z


WISHBONE = TapedAxle(
    AxleEnvelope(
        "wishbone_coilover",
        Travel(
            hard_points=HardPoints(
                lower_arm_front=at(165, 318, -72), lower_arm_rear=at(-205, 314, -60),
                upper_arm_front=at(112, 418, 218), upper_arm_rear=at(-122, 420, 196),
                lower_ball_joint=at(10, 712, -112), upper_ball_joint=at(-22, 662, 214),
                rack_end=at(-148, 352, -22), tie_rod_end=at(-141, 678, -52),
                strut_top=at(-12, 478, 492), strut_bottom=at(0, 602, -84), strut_bottom_on="lower_arm",
                wheel_centre=at(0, 766, 12), spin_axis=at(0.003, 1, -0.011), arch_mark=at(0, 780, 542),
                inner_cv=at(0, 226, 26), outer_cv=at(0, 690, 12), output_axis=at(0, 1, 0.01),
                bump_stop=at(0, 566, -46), bump_plate=at(2, 570, 6),
                hose_body=at(-52, 452, 202), hose_upright=at(-62, 660, 60), rack_travel_mm=Reading(52.0),
            ),
        ),
        fitted=Fitted(
            part_of(CoilSpring, wire_mm=16, total_coils=9, free_length_mm=412, rate_n_per_mm=58.5, active_coils=7,
                    mean_diameter_mm=116, ends="closed_ground", forming="cold"),
            part_of(Strut, extended_length_mm=646, closed_length_mm=462, seat_offset_mm=296, gas_force_n=180),
            part_of(BumpStop, free_height_mm=58, crushed_height_mm=28),
        ),
        limits={
            "upper_ball_joint": Limit(max_angle_deg=Reading(38.0)),
            "lower_ball_joint": Limit(max_angle_deg=Reading(34.0)),
            "tie_rod_end": Limit(max_angle_deg=Reading(34.0)),
            "inner_cv": Limit(max_angle_deg=Reading(26.0), max_plunge_mm=Reading(34.0)),
            "outer_cv": Limit(max_angle_deg=Reading(48.0)),
            "brake_hose": Limit(Reading(660.0)),
        },
        unsprung_kg_per_wheel=Reading(50.0),
    ),
    VehicleMasses(*map(Reading, (3010.0, 1090.0, 940.0, 1480.0, 1750.0, 3100.0))),
)  # fmt: skip

MACPHERSON = TapedAxle(
    AxleEnvelope(
        "macpherson",
        Travel(
            hard_points=HardPoints(
                lower_arm_front=at(34, 338, -82), lower_arm_rear=at(-286, 348, -72), lower_ball_joint=at(6, 702, -108),
                rack_end=at(-124, 322, -14), tie_rod_end=at(-138, 682, -28),
                strut_top=at(-36, 572, 558), strut_bottom=at(-9, 642, 92),
                wheel_centre=at(0, 756, 18), spin_axis=at(0.003, 1, -0.008), arch_mark=at(0, 762, 538),
                inner_cv=at(0, 218, 34), outer_cv=at(0, 688, 18), output_axis=at(0, 1, 0),
                bump_stop=at(-24, 602, 360), bump_plate=at(-26.5, 608.5, 404), rack_travel_mm=Reading(60.0),
            ),
        ),
        fitted=Fitted(
            part_of(CoilSpring, wire_mm=13, total_coils=7, free_length_mm=398, rate_n_per_mm=27, active_coils=5,
                    mean_diameter_mm=130, ends="closed_ground", forming="cold", tensile_strength_mpa=1950),
            part_of(Strut, extended_length_mm=562, closed_length_mm=372, seat_offset_mm=222, gas_force_n=150),
            part_of(BumpStop, free_height_mm=46, crushed_height_mm=22),
        ),
        limits={
            "lower_ball_joint": Limit(max_angle_deg=Reading(25.0)),
            "tie_rod_end": Limit(max_angle_deg=Reading(26.0)),
            "inner_cv": Limit(max_angle_deg=Reading(24.0), max_plunge_mm=Reading(26.0)),
            "outer_cv": Limit(max_angle_deg=Reading(46.0)),
            "brake_hose": Limit(Reading(660.0)),
        },
        unsprung_kg_per_wheel=Reading(41.0),
    ),
    VehicleMasses(*map(Reading, (2615.0, 828.0, 560.0, 1090.0, 980.0, 1950.0))),
)  # fmt: skip

SURVEYED = {"wishbone_coilover": WISHBONE, "macpherson": MACPHERSON}


def with_points(axle: TapedAxle, **points) -> TapedAxle:
    """The axle with some of its hard points elsewhere, or unknown: None."""
    travel = axle.envelope.travel
    moved = replace(travel, hard_points=replace(travel.hard_points, **points))
    return axle._replace(envelope=replace(axle.envelope, travel=moved))


def with_envelope(axle: TapedAxle, **changes) -> TapedAxle:
    return axle._replace(envelope=replace(axle.envelope, **changes))


def with_fitted(axle: TapedAxle, **parts) -> TapedAxle:
    return with_envelope(axle, fitted=replace(axle.envelope.fitted, **parts))
