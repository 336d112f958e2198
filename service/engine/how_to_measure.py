"""How to measure what is missing, with a tape and a jack, in a fitter's words."""

from __future__ import annotations

TAPE = {
    "height": "tape from the mark on the wheel arch down to the wheel centre",
    "seat_gap": "tape from the lower to the upper spring seat, along the spring",
    "damper_length": "tape the damper from mount to mount",
}
BRING = {
    "full_droop": "Lift the body until the wheel hangs free",
    "ride": "On level ground at kerb mass, bounce the vehicle and let it settle",
    "bump_contact": "With the spring out and the vehicle on stands, raise the wheel with a jack until the bump stop just touches",
}
HOW = {
    "wire_mm": "Measure the wire with a caliper, on bare steel, at three places.",
    "total_coils": "Count the windings from tip to tip, to a quarter of a winding.",
    "free_length_mm": "Take the spring out with a spring compressor, let it go fully, and tape its length.",
    "rate_n_per_mm": "Take the rate from the maker's data, or press the spring in a press by a taped distance and read the force.",
    "mean_diameter_mm": "Measure the coil's outer diameter with a caliper and take off one wire thickness.",
    "forming": "Ask the spring's maker whether it was coiled cold or hot.",
    "ends": "Look at the spring's ends: closed and ground, closed, or open.",
    "tensile_strength_mpa": "Ask the spring's maker for the tensile strength of the wire.",
    "free_height_mm": "Measure the bump stop's height, unloaded, from its seat to its tip.",
    "crushed_height_mm": "Squeeze the bump stop in a press, or a vice, until it gives no more, and measure the height that is left.",
    "closed_length_mm": "With the spring off, push the strut shut and tape it from mount to mount.",
    "extended_length_mm": "With the spring off, pull the strut out to its end and tape it from mount to mount.",
    "seat_offset_mm": "Tape the strut from mount to mount, and from spring seat to spring seat, in the same position: the difference.",
    "axle_kg": "Weigh the axle at kerb mass on a weighbridge.",
    "rating": "Read the rating from the maker's plate.",
    "wheelbase_mm": "Tape from wheel centre to wheel centre on one side.",
    "unsprung_kg_per_wheel": "Weigh the wheel with its tyre, and add hub, brake and half of the arms, from the maker's data.",
    "bump_stop_ratio": "Note the arch-to-hub with the stop just touching and again with it squeezed by a measured amount: squeeze over "
    "wheel travel.",
    "motion_ratio": "Tape arch-to-hub and seat gap at two wheel positions: change of the seat gap over change of arch-to-hub.",
    "limit": "With the strut or damper out, lower the wheel on a jack until the {joint} just binds or pulls tight, and tape from the arch mark to the "
    "wheel centre.",
    "bump_limit": "With the strut or damper out, raise the wheel on a jack until the {joint} just binds, and tape from the arch mark to the wheel centre.",
    "free_camber_mm": "With the leaves off the axle, lay a straight edge from eye to eye and measure up to the main leaf at the centre bolt.",
    "max_deflection_mm": "Ask the maker of the leaves how far they may be bent.",
    "shear_modulus_mpa": "Take the shear modulus of the steel from the maker's data.",
    "permissible_stress_mpa": "Take the permissible shear stress from the maker's data.",
    "active_length_mm": "Measure the bar between its splines.",
    "arm_length_mm": "Measure from the bar's centre line to the lower ball joint.",
    "diameter_mm": "Measure the bar with a caliper, on bare steel, at three places.",
    "fitted_overall_diameter_mm": "Read the size from the tyre that the vehicle left the factory with, and measure its outer diameter.",
    "fitted_section_width_mm": "Read the size from the tyre that the vehicle left the factory with, and measure its width from sidewall to "
    "sidewall.",
    "tyre_gap": "At two wheel positions or more, tape the gap between the tyre and the nearest part of the body, at full lock too.",
    "max_angle_deg": "Ask the maker of the {joint} how far it may be bent from its neutral position, or bend it by hand off the vehicle and measure.",
    "max_plunge_mm": "With the shaft off, measure how far the {joint} can be pushed and pulled from where it stands at ride.",
    "bump_stop": "Survey the tip of the bump stop with the vehicle at ride.",
    "bump_plate": "Survey the place where the bump stop will touch, with the vehicle at ride.",
    "rack_travel_mm": "By the points surveyed the rack cannot go that far: with the wheels off the ground, steer from straight ahead to "
    "full lock, measure how far the end of the rack moves, and survey both ends of the tie rod again.",
    "part": "Ask the part's maker for it, or measure the part before it is fitted.",
    **{f"{what}_at_{at}": f"{bring}, then {tape}." for what, tape in TAPE.items() for at, bring in BRING.items()},
}
"""What is missing -> how to measure it; ``{joint}`` stands for the joint's name."""
