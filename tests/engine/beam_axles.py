"""Two beam axles and a torsion-bar front end of our own invention, measured as fully as a tape allows. Nobody's."""

from reference_axles import TapedAxle, part_of

from service.engine import AxleEnvelope, Fitted, Limit, Reading, Station, Travel, VehicleMasses
from service.engine.parts import BumpStop, CoilSpring, Damper, LeafPack, Shackle, TorsionBar, Tyre

MASSES = VehicleMasses(*map(Reading, (3140.0, 1210.0, 935.0, 1520.0, 1820.0, 3200.0)))


def taped(at, height=None, gap=None, length=None, tyre=None) -> Station:
    return Station(at, *(None if value is None else Reading(float(value)) for value in (height, gap, length, tyre)))


COIL = TapedAxle(
    AxleEnvelope(
        "solid_axle_coil",
        Travel(
            (
                taped("full_droop", 642, 334, 604, 268), taped("ride", 541, 241, 514.5, 172),
                taped("bump_contact", 463, 172, 442, 101), taped("between", 418, 133, 400, 62),
            ),
            bump_stop_ratio=Reading(0.96),
        ),
        fitted=Fitted(
            spring=part_of(CoilSpring, wire_mm=14, total_coils=7, free_length_mm=382, rate_n_per_mm=28.5),
            damper=part_of(Damper, extended_length_mm=604, closed_length_mm=362, gas_force_n=170),
            bump_stop=part_of(BumpStop, free_height_mm=62, crushed_height_mm=30),
            tyre=part_of(Tyre, overall_diameter_mm=752, section_width_mm=245),
        ),
        limits={"brake_hose": Limit(Reading(735.0))},
        unsprung_kg_per_wheel=Reading(92.0),
        spring_base_mm=Reading(1040.0), track_mm=Reading(1560.0),
    ),
    MASSES,
    "rear",
)  # fmt: skip

LEAF = TapedAxle(
    AxleEnvelope(
        "solid_axle_leaf",
        Travel(
            (
                taped("full_droop", 638, None, 611, 284), taped("ride", 538, None, 517, 190),
                taped("bump_contact", 458, None, 441, 114), taped("between", 424, None, 409, 80),
            ),
            bump_stop_ratio=Reading(1.0),
        ),
        fitted=Fitted(
            damper=part_of(Damper, extended_length_mm=628, closed_length_mm=368),
            leaf_pack=part_of(LeafPack, rate_n_per_mm=36, free_camber_mm=152, max_deflection_mm=268),
            shackle=part_of(Shackle, length_mm=98),
            bump_stop=part_of(BumpStop, free_height_mm=58, crushed_height_mm=28),
            tyre=part_of(Tyre, overall_diameter_mm=752, section_width_mm=245),
        ),
        limits={"brake_hose": Limit(Reading(735.0)), "shackle": Limit(Reading(705.0))},
        unsprung_kg_per_wheel=Reading(96.0),
        spring_base_mm=Reading(1060.0), track_mm=Reading(1560.0),
    ),
    MASSES,
    "rear",
)  # fmt: skip

BAR = TapedAxle(
    AxleEnvelope(
        "wishbone_torsion_bar",
        Travel(
            (
                taped("full_droop", 602, None, 424), taped("ride", 526, None, 378.5),
                taped("bump_contact", 462, None, 338.5), taped("between", 420, None, 311),
            ),
            bump_stop_ratio=Reading(0.55),
        ),
        fitted=Fitted(
            damper=part_of(Damper, extended_length_mm=424, closed_length_mm=285, gas_force_n=160),
            torsion_bar=part_of(
                TorsionBar, diameter_mm=27.5, active_length_mm=1180, arm_length_mm=385, shear_modulus_mpa=78_500,
                permissible_stress_mpa=850,
            ),
            bump_stop=part_of(BumpStop, free_height_mm=42, crushed_height_mm=20),
        ),
        limits={
            joint: Limit(Reading(632.0), Reading(396.0) if "ball" in joint or "tie" in joint else None)
            for joint in ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")
        },
        unsprung_kg_per_wheel=Reading(51.0),
        arm_angle_at_ride_deg=Reading(7.0),
    ),
    MASSES,
)  # fmt: skip

BEAMS = {"solid_axle_coil": COIL, "solid_axle_leaf": LEAF, "wishbone_torsion_bar": BAR}
