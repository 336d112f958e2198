"""The demo's torsion bars and solid axles: could these axles exist?

Every tolerance below is common practice: none of them has a published source.
"""

from math import atan, cos, degrees, pi, radians, sin, sqrt

import pytest
from demo_catalogue import (
    ENVELOPES,
    PARTS,
    fitted,
    heights,
    limit,
    ratios,
    sprung_kg,
    station,
    stations,
    value,
)

from service.engine.loads import STANDARD_GRAVITY


def of_layout(layout):
    return [axle for axle, e in ENVELOPES.items() if e["layout"] == layout]


(BARS,), (LEAVES,) = (of_layout(f"{layout}") for layout in ("wishbone_torsion_bar", "solid_axle_leaf"))
SOLID = [*of_layout("solid_axle_leaf"), *of_layout("solid_axle_coil")]
AT_RIDE = value(ENVELOPES[BARS]["arm_angle_at_ride_deg"])

each_solid_axle = pytest.mark.parametrize("axle", SOLID)
both_axles = pytest.mark.parametrize("axle", [BARS, LEAVES])


def weight_n(axle):
    return sprung_kg(axle) * STANDARD_GRAVITY


def full_bump(axle):
    """Arch-to-hub with the factory's stop fully crushed."""
    crush = fitted(axle, "bump_stop", "free_height_mm") - fitted(axle, "bump_stop", "crushed_height_mm")
    return heights(axle)["bump_contact"] - crush / value(ENVELOPES[axle]["travel"]["bump_stop_ratio"])


def bar_stiffness(bar):
    """Torque over twist of a round bar, N mm/rad: G pi d^4 / (32 L)."""
    second_moment = pi / 32 * value(bar["diameter_mm"]) ** 4
    return value(bar["shear_modulus_mpa"]) * second_moment / value(bar["active_length_mm"])


@both_axles
def test_the_wheel_has_a_usual_travel(axle):
    at = heights(axle)
    assert 60 <= at["ride"] - at["bump_contact"] <= 95
    assert 70 <= at["full_droop"] - at["ride"] <= 110


@both_axles
def test_the_damper_has_room_at_both_ends(axle):
    beyond = fitted(axle, "damper", "extended_length_mm") - station(axle, "full_droop")["damper_length_mm"]
    # Leaves hang before their damper is out; a torsion bar has nothing else that ends its droop.
    assert (2 <= beyond <= 15) if axle == LEAVES else abs(beyond) <= 1
    taken = (heights(axle)["bump_contact"] - full_bump(axle)) * ratios(axle, "damper_length_mm")[-1]
    length = station(axle, "bump_contact")["damper_length_mm"] - taken
    assert length >= fitted(axle, "damper", "closed_length_mm") + 10


def test_the_torsion_bars_damper_has_a_wishbones_motion_ratio():
    assert all(0.5 <= ratio <= 0.7 for ratio in ratios(BARS, "damper_length_mm"))


def test_the_torsion_bar_gives_a_usual_ride_frequency():
    bar = ENVELOPES[BARS]["fitted"]["torsion_bar"]
    lever = value(bar["arm_length_mm"]) * cos(radians(AT_RIDE))
    wheel_rate = bar_stiffness(bar) / lever**2
    assert 1.0 <= sqrt(1000 * wheel_rate / sprung_kg(BARS)) / (2 * pi) <= 1.6


def test_the_torsion_bars_steel_bears_full_bump():
    bar = ENVELOPES[BARS]["fitted"]["torsion_bar"]
    arm = value(bar["arm_length_mm"])
    rise = (heights(BARS)["ride"] - full_bump(BARS)) / arm
    twist = radians(AT_RIDE) - atan((sin(radians(AT_RIDE)) - rise) / cos(radians(AT_RIDE)))
    torque = weight_n(BARS) * arm * cos(radians(AT_RIDE)) + bar_stiffness(bar) * twist
    stress = 16 * torque / (pi * value(bar["diameter_mm"]) ** 3)
    assert 0.6 * value(bar["permissible_stress_mpa"]) < stress < 0.9 * value(bar["permissible_stress_mpa"])


def test_the_bars_are_not_unwound_at_full_droop():
    bar = ENVELOPES[BARS]["fitted"]["torsion_bar"]
    arm, drop = value(bar["arm_length_mm"]), heights(BARS)["full_droop"] - heights(BARS)["ride"]
    assert 0 < degrees(atan(drop / arm)) < degrees(weight_n(BARS) * arm / bar_stiffness(bar))


def test_other_bars_turn_the_same_arm():
    bars = [part for part in PARTS if part["kind"] == "torsion_bar"]
    assert any("adjusted_ride_arch_to_hub_mm" in bar for bar in bars)
    for bar in bars:
        assert value(bar["arm_length_mm"]) == fitted(BARS, "torsion_bar", "arm_length_mm")
        assert 20 <= value(bar["diameter_mm"]) <= 32
        lift = value(bar["adjusted_ride_arch_to_hub_mm"]) - heights(BARS)["ride"]
        assert 10 <= lift <= 50


def test_the_torsion_bar_axles_limits_lie_a_little_beyond_its_droop():
    for joint in ENVELOPES[BARS]["limits"]:
        assert 8 <= limit(BARS, joint, "reached_at_arch_to_hub_mm") - heights(BARS)["full_droop"] <= 40


def test_the_taped_tyre_keeps_clear_of_the_body():
    gaps = [s["tyre_gap_mm"] for s in stations(BARS)]
    assert gaps == sorted(gaps, reverse=True)
    beyond = (heights(BARS)["bump_contact"] - full_bump(BARS)) * ratios(BARS, "tyre_gap_mm")[-1]
    assert gaps[-1] - beyond >= 20
    diameter, width = (fitted(BARS, "tyre", name) for name in ("overall_diameter_mm", "section_width_mm"))
    assert 0.28 <= width / diameter <= 0.36
    assert full_bump(BARS) > diameter / 2, "the arch mark stays above the tread"


def test_the_leaves_carry_the_kerb_load_with_half_their_camber_left():
    deflection = weight_n(LEAVES) / fitted(LEAVES, "leaf_pack", "rate_n_per_mm")
    camber = fitted(LEAVES, "leaf_pack", "free_camber_mm")
    assert 0.35 * camber <= deflection <= 0.65 * camber


def test_the_leaves_hang_where_their_droop_was_taped():
    rate = fitted(LEAVES, "leaf_pack", "rate_n_per_mm")
    hanging = value(ENVELOPES[LEAVES]["unsprung_kg_per_wheel"]) * STANDARD_GRAVITY / rate
    at = heights(LEAVES)
    assert at["full_droop"] - at["ride"] == pytest.approx(weight_n(LEAVES) / rate + hanging, abs=3)


def test_the_leaves_bear_full_bump():
    deflection = weight_n(LEAVES) / fitted(LEAVES, "leaf_pack", "rate_n_per_mm")
    deflection += heights(LEAVES)["ride"] - full_bump(LEAVES)
    assert deflection <= fitted(LEAVES, "leaf_pack", "max_deflection_mm") - 10


def test_the_leaves_give_a_load_carriers_ride_frequency():
    hertz = sqrt(1000 * fitted(LEAVES, "leaf_pack", "rate_n_per_mm") / sprung_kg(LEAVES)) / (2 * pi)
    assert 1.5 <= hertz <= 2.1


def test_the_shackle_is_far_from_its_line_at_the_factory_droop():
    beyond = limit(LEAVES, "shackle", "reached_at_arch_to_hub_mm") - heights(LEAVES)["full_droop"]
    assert 30 <= beyond <= fitted(LEAVES, "shackle", "length_mm")


@each_solid_axle
def test_a_solid_axles_spring_and_damper_follow_the_wheel_nearly_one_to_one(axle):
    assert all(0.85 <= ratio <= 1.05 for ratio in ratios(axle, "damper_length_mm"))


@each_solid_axle
def test_a_solid_axles_springs_stand_inside_of_its_wheels(axle):
    base, track = value(ENVELOPES[axle]["spring_base_mm"]), value(ENVELOPES[axle]["track_mm"])
    assert 0.6 <= base / track <= 0.75


@each_solid_axle
def test_a_rear_hose_reaches_the_lower_wheel_of_an_articulated_axle(axle):
    droop, bump = heights(axle)["full_droop"], full_bump(axle)
    leverage = value(ENVELOPES[axle]["track_mm"]) / value(ENVELOPES[axle]["spring_base_mm"])
    lower = (droop + bump) / 2 + (droop - bump) / 2 * leverage
    assert 20 <= limit(axle, "brake_hose", "reached_at_arch_to_hub_mm") - lower <= 60
