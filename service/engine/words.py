"""The reasons in plain sentences: one template a check and situation, numbers filled in.

Situations: ``unsafe``, ``marginal``, ``clear``; ``condemned`` (the margin is not known but cannot be better than bad),
``unknown`` and ``factory`` (not known, but no further than the factory takes it). A template may use the numbers of
``Told`` in told.py; all are strings ready to print.
"""

from __future__ import annotations

JOINTS = {
    "upper_ball_joint": "upper ball joint",
    "lower_ball_joint": "lower ball joint",
    "tie_rod_end": "tie-rod end",
    "inner_cv": "inner CV joint",
    "outer_cv": "outer CV joint",
    "brake_hose": "brake hose",
    "shackle_past_line": "shackle",
}


def with_article(what: str) -> str:
    """A thing's name behind its article.

    >>> with_article("upper arm"), with_article("strut")
    ('an upper arm', 'a strut')
    """
    return f"{'an' if what[:1].lower() in 'aeiou' else 'a'} {what}"


REASONS: dict[str, dict[str, str]] = {
    "coil_bind": {
        "unsafe": "At full bump the spring goes solid before the bump stop has been crushed: {short} mm short "
        "(seat gap {seat_gap_mm}, solid length {solid_length_mm}).",
        "condemned": "The spring goes solid {short} mm before the bump stop even touches (seat gap {seat_gap_at_bump_contact_mm}, "
        "solid length {solid_length_mm}): the coil has become the bump stop.",
        "marginal": "At full bump {value} +-{plus_minus} mm of coil gap are left; {reserve} mm for certain are asked for.",
        "clear": "At full bump {value} +-{plus_minus} mm of coil gap are left (seat gap {seat_gap_mm}, solid length {solid_length_mm}).",
        "unknown": "Whether the spring goes solid at full bump cannot be told. With the bump stop just touching "
        "{coil_gap_at_bump_contact_mm} mm of coil gap are left, and there is more crush to come.",
        "unknown_far": "Whether the spring goes solid at full bump cannot be told: not all of what it needs is known.",
        "factory": "The coil gap at full bump is not known, but this build presses the factory spring no further than the factory does.",
    },
    "damper_bottoming": {
        "unsafe": "At full bump the damper closes before the bump stop has been crushed: {short} mm short.",
        "condemned": "The damper closes {short} mm before the bump stop even touches: it has become the bump stop.",
        "marginal": "At full bump {value} +-{plus_minus} mm of damper travel are left; {reserve} mm for certain are asked for.",
        "clear": "At full bump {value} +-{plus_minus} mm of damper travel are left.",
        "unknown": "Whether the damper closes at full bump cannot be told.",
        "factory": "The damper travel at full bump is not known, but this build closes the factory strut no further than the factory does.",
    },
    "damper_bottoming_no_travel": {
        "unsafe": "The bump stop would first touch {short} mm below where the wheel hangs at full droop: it is pressed all the time, and no travel is left.",
        "marginal": "From full droop to where the bump stop touches {value} +-{plus_minus} mm of wheel travel are left: hardly any.",
        "clear": "From full droop to where the bump stop touches {value} +-{plus_minus} mm of wheel travel are left.",
    },
    "spring_retention": {
        "unsafe": "At full droop the spring is {short} mm too short to reach its seat: it comes loose.",
        "marginal": "At full droop the spring is still pressed by {value} +-{plus_minus} mm; {reserve} mm for certain are asked for.",
        "clear": "At full droop the spring is still pressed by {value} +-{plus_minus} mm.",
        "unknown": "Whether the spring stays seated at full droop cannot be told.",
        "factory": "The factory spring's free length is not known, but at full droop this build presses it no less than the factory does.",
    },
    "joint": {
        "unsafe": "At full droop the wheel hangs at {value} mm from the arch mark, {short} mm past where the {joint} comes to its end ({limit} mm).",
        "marginal": "At full droop the {joint} has {margin} +-{plus_minus} mm of wheel drop left; {reserve} mm for certain are asked for.",
        "clear": "At full droop the {joint} has {margin} +-{plus_minus} mm of wheel drop left.",
        "unknown": "The wheel drops {further} mm further than the factory lets it, and where the {joint} comes to its end is not known.",
        "unknown_near": "It is not certain that the wheel drops no further than the factory lets it, and where the {joint} comes to its end is not known.",
        "unknown_far": "How far the wheel drops, and where the {joint} comes to its end, cannot be told.",
        "factory": "Where the {joint} comes to its end is not known, but the wheel drops no further than the factory lets it.",
    },
    "joint_bump": {
        "unsafe": "At full bump the wheel rises {short} mm past where the {joint} comes to its end ({limit} mm from the arch mark).",
        "marginal": "At full bump the {joint} has {margin} +-{plus_minus} mm of wheel rise left; {reserve} mm for certain are asked for.",
        "clear": "At full bump the {joint} has {margin} +-{plus_minus} mm of wheel rise left.",
        "unknown": "The wheel may rise {further} mm further than the factory lets it, and where the {joint} comes to its end in bump is not known.",
        "unknown_near": "It is not certain that the wheel rises no further than the factory lets it, and where the {joint} comes to its end in bump is not known.",
        "unknown_far": "How far the wheel rises at full bump cannot be told, and so not whether the {joint} comes to its end there.",
        "factory": "At full bump the wheel rises no further than the factory lets it, and so takes the {joint} no further.",
    },
    "joint_lowered": {
        "unsafe": "At full bump the lowered differential bends the {joint} by {short} mm of wheel rise past its end.",
        "marginal": "At full bump, with the differential lowered, the {joint} has {margin} +-{plus_minus} mm of wheel rise left; {reserve} mm for certain are asked for.",
        "clear": "At full bump, with the differential lowered, the {joint} has {margin} +-{plus_minus} mm of wheel rise left.",
        "unknown": "At full bump the lowered differential bends the {joint} as if the wheel rose {further} mm further than the factory lets it, and where the joint comes to its end in bump is not known.",
        "unknown_near": "It is not certain that the lowered differential bends the {joint} no further at full bump than the factory does, and where the joint comes to its end in bump is not known.",
        "unknown_far": "How far the wheel rises at full bump cannot be told, and so not whether the lowered differential takes the {joint} to its end there.",
        "factory": "At full bump the wheel rises so much less than the factory lets it that the lowered differential bends the {joint} no further.",
    },
    "joint_articulated": {
        "unsafe": "With the other wheel pushed up the lower wheel hangs at {value} mm, {short} mm past where the {joint} comes to its end ({limit} mm).",
        "marginal": "With the other wheel pushed up the {joint} has {margin} +-{plus_minus} mm of wheel drop left; {reserve} mm for certain are asked for.",
        "clear": "With the other wheel pushed up the {joint} has {margin} +-{plus_minus} mm of wheel drop left.",
        "unknown": "With the other wheel pushed up the lower wheel hangs {further} mm further than the factory lets it, and where the {joint} comes to its end is not known.",
        "unknown_near": "It is not certain that the lower wheel hangs no further than the factory lets it, and where the {joint} comes to its end is not known.",
        "unknown_far": "How far the lower wheel hangs with the other one pushed up cannot be told.",
        "factory": "Where the {joint} comes to its end is not known, but with the other wheel pushed up the lower wheel hangs no further than the factory lets it.",
    },
    "leaf_over_deflection": {
        "unsafe": "At full bump the leaves are bent {short} mm past the greatest deflection that they bear ({max_deflection_mm} mm).",
        "condemned": "The leaves are bent {short} mm past the greatest deflection that they bear before the bump stop even touches.",
        "marginal": "At full bump the leaves have {value} +-{plus_minus} mm of deflection left; {reserve} mm for certain are asked for.",
        "clear": "At full bump the leaves have {value} +-{plus_minus} mm of deflection left.",
        "unknown": "Whether the leaves are bent too far at full bump cannot be told.",
        "factory": "What deflection the leaves bear is not known, but this build bends them no further than the factory does.",
    },
    "damper_topping": {
        "condemned": "The damper is out to its end {short} mm of wheel drop before the leaves hang free: it holds the hanging axle.",
        "marginal": "The damper is out to its end hardly later than the leaves hang free ({margin} +-{plus_minus} mm of wheel drop).",
        "clear": "The damper lets the leaves hang free, with {margin} +-{plus_minus} mm of wheel drop left.",
        "unknown": "Whether the damper lets the leaves hang free cannot be told.",
    },
    "bar_stress": {
        "marginal": "At full bump the torsion bar is stressed to {value} +-{plus_minus} MPa: more than the permissible {limit} MPa, or too close to tell.",
        "clear": "At full bump the torsion bar is stressed to {value} of {limit} MPa.",
        "unknown": "The stress in the torsion bar at full bump cannot be told.",
    },
    "spring_buckling": {
        "marginal": "At full bump the spring is deflected by {value} +-{plus_minus} mm: it may buckle at {limit} mm.",
        "clear": "At full bump the spring is deflected by {value} mm, {margin} mm short of buckling.",
        "unknown": "Whether the spring buckles cannot be told.",
    },
    "tyre_clearance": {
        "unsafe": "At full bump the tyre meets the body: {short} mm are lacking.",
        "marginal": "At full bump {value} +-{plus_minus} mm are left between tyre and body; {reserve} mm for certain are asked for.",
        "clear": "At full bump {value} +-{plus_minus} mm are left between tyre and body.",
        "unknown": "Whether the tyre meets the body at full bump cannot be told.",
        "factory": "The tyre's gap is not known, but this tyre comes no closer to the body than the factory's does.",
    },
    "tyre_clearance_articulated": {
        "unsafe": "With the other wheel hanging the tyre meets the body: {short} mm are lacking.",
        "marginal": "With the other wheel hanging {value} +-{plus_minus} mm are left between tyre and body; {reserve} mm for certain are asked for.",
        "clear": "With the other wheel hanging {value} +-{plus_minus} mm are left between tyre and body.",
        "unknown": "Whether the tyre meets the body with the other wheel hanging cannot be told.",
        "factory": "The tyre's gap is not known, but with the other wheel hanging this tyre comes no closer to the body than the factory's does.",
    },
    "joint_angle": {
        "unsafe": "At full droop the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full droop the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full droop the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full droop the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full droop than the factory bends it, and how far it can be bent is not known.",
        "unknown_far": "How far the {joint} is bent at full droop cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full droop it is bent no further than the factory bends it.",
    },
    "joint_angle_bump": {
        "unsafe": "At full bump the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full bump the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full bump the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full bump the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full bump than the factory bends it, and how far it can be bent is not known.",
        "unknown_far": "How far the {joint} is bent at full bump cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full bump it is bent no further than the factory bends it.",
    },
    "joint_left_lock": {
        "unsafe": "At full droop and full lock to the left the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full droop and full lock to the left the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full droop and full lock to the left the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full droop and full lock to the left the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full droop and full lock to the left than the factory bends it.",
        "unknown_far": "How far the {joint} is bent at full droop and full lock to the left cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full droop and full lock to the left it is bent no further than the factory bends it.",
    },
    "joint_left_lock_bump": {
        "unsafe": "At full bump and full lock to the left the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full bump and full lock to the left the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full bump and full lock to the left the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full bump and full lock to the left the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full bump and full lock to the left than the factory bends it.",
        "unknown_far": "How far the {joint} is bent at full bump and full lock to the left cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full bump and full lock to the left it is bent no further than the factory bends it.",
    },
    "joint_right_lock": {
        "unsafe": "At full droop and full lock to the right the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full droop and full lock to the right the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full droop and full lock to the right the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full droop and full lock to the right the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full droop and full lock to the right than the factory bends it.",
        "unknown_far": "How far the {joint} is bent at full droop and full lock to the right cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full droop and full lock to the right it is bent no further than the factory bends it.",
    },
    "joint_right_lock_bump": {
        "unsafe": "At full bump and full lock to the right the {joint} is bent by {value} degrees, {short} past its end ({limit} degrees).",
        "marginal": "At full bump and full lock to the right the {joint} is bent by {value} +-{plus_minus} of {limit} degrees; {reserve} left for certain are asked for.",
        "clear": "At full bump and full lock to the right the {joint} is bent by {value} +-{plus_minus} of {limit} degrees.",
        "unknown": "At full bump and full lock to the right the {joint} is bent by {further_than_factory_deg} degrees more than the factory bends it, and how far it can be bent is not known.",
        "unknown_near": "It is not certain that the {joint} is bent no further at full bump and full lock to the right than the factory bends it.",
        "unknown_far": "How far the {joint} is bent at full bump and full lock to the right cannot be told.",
        "factory": "How far the {joint} can be bent is not known, but at full bump and full lock to the right it is bent no further than the factory bends it.",
    },
    "joint_plunge": {
        "unsafe": "The drive shaft plunges by {value} mm, {short} mm past what the {joint} allows ({limit} mm).",
        "marginal": "The drive shaft plunges by {value} +-{plus_minus} of {limit} mm; {reserve} mm left for certain are asked for.",
        "clear": "The drive shaft plunges by {value} +-{plus_minus} of {limit} mm.",
        "unknown": "The drive shaft plunges by {further} mm more than the factory's, and what the {joint} allows is not known.",
        "unknown_near": "It is not certain that the drive shaft plunges no further than the factory's, and what the {joint} allows is not known.",
        "unknown_far": "How far the drive shaft plunges cannot be told.",
        "factory": "What plunge the {joint} allows is not known, but the shaft plunges no further than the factory's.",
    },
    "linkage_lock": {
        "unsafe": "The linkage locks at {locks_at_arch_to_hub_mm} mm from the arch mark, {short} mm of strut before the strut is extended: nothing but the linkage holds the wheel.",
        "marginal": "The linkage locks at {locks_at_arch_to_hub_mm} mm from the arch mark, only {margin} +-{plus_minus} mm of strut after the strut is extended.",
        "clear": "The strut is extended before the linkage locks.",
        "factory": "How long the strut is extended is not known, but nothing that the factory had in its place was changed.",
        "unknown": "Whether the linkage locks before the strut is extended cannot be told.",
    },
    "linkage_lock_bump": {
        "unsafe": "The linkage locks at {locks_at_arch_to_hub_mm} mm from the arch mark, {short} mm of wheel travel before the bump stop is crushed.",
        "marginal": "The linkage locks at {locks_at_arch_to_hub_mm} mm from the arch mark, only {margin} +-{plus_minus} mm of wheel travel after the bump stop is crushed.",
        "clear": "The bump stop is crushed before the linkage locks.",
        "factory": "Where the bump stop is crushed is not known, but nothing that the factory had in its place was changed.",
        "unknown": "Whether the linkage locks before the bump stop is crushed cannot be told.",
    },
    "axle_rating": {
        "unsafe": "Loaded, the axle carries {value} kg, {short} kg over its rating of {limit} kg.",
        "marginal": "Loaded, the axle carries {value} kg of its {limit} kg; the {margin} +-{plus_minus} kg left are not certain.",
        "clear": "Loaded, the axle carries {value} kg of its {limit} kg.",
        "unknown": "Whether the load stays within the axle's rating cannot be told.",
        "factory": "The axle's mass or rating is not known, but the load takes no more onto this axle.",
    },
    "axle_rating_gross": {
        "unsafe": "Loaded, the vehicle weighs {value} kg, {short} kg over its gross rating of {limit} kg.",
        "marginal": "Loaded, the vehicle weighs {value} kg of its {limit} kg; the {margin} +-{plus_minus} kg left are not certain.",
        "clear": "Loaded, the vehicle weighs {value} kg of its {limit} kg.",
        "unknown": "Whether the loaded vehicle stays within its gross rating cannot be told.",
    },
    "spring_stress": {
        "marginal": "At full bump the spring's steel is stressed to {value} +-{plus_minus} MPa: more than the permissible {limit} MPa, or too close to tell.",
        "clear": "At full bump the spring's steel is stressed to {value} of {limit} MPa.",
        "unknown": "The stress in the spring at full bump cannot be told.",
    },
    "coil_gap_recommended": {
        "condemned": "The spring goes solid {lower} mm before the bump stop even touches; the standard recommends to keep {limit} mm of coil gap.",
        "marginal": "With the bump stop just touching {value} mm of coil gap are left; the standard recommends to keep {limit} mm.",
        "clear": "With the bump stop just touching {value} mm of coil gap are left, {margin} mm more than the standard recommends.",
        "unknown": "The coil gap that the standard recommends to keep at bump contact cannot be told.",
    },
    "bump_travel_left": {
        "marginal": "At ride {value} % of the factory's bump travel are left; {limit} % for certain are asked for.",
        "clear": "At ride {value} % of the factory's bump travel are left.",
        "unknown": "How much bump travel is left cannot be told.",
    },
    "droop_travel_left": {
        "marginal": "At ride {value} % of the factory's droop travel are left; {limit} % for certain are asked for.",
        "clear": "At ride {value} % of the factory's droop travel are left.",
        "unknown": "How much droop travel is left cannot be told.",
    },
    "ride_height": {
        "marginal": "The vehicle rides {value} +-{plus_minus} mm higher than as it left the factory; {limit} mm were asked for.",
        "clear": "The vehicle rides {value} +-{plus_minus} mm higher than as it left the factory, as asked for ({limit} mm).",
        "marginal_lower": "The vehicle rides {lower} +-{plus_minus} mm lower than as it left the factory; a lift of {limit} mm was asked for.",
        "clear_lower": "The vehicle rides {lower} +-{plus_minus} mm lower than as it left the factory, as asked for ({limit} mm).",
        "unknown": "How high the vehicle will ride cannot be told.",
    },
}

DUTY_NOTES = {
    "sealed_road": ("duty_sealed_road", "Judged for sealed roads: do not use this verdict for unsealed tracks."),
    "unsealed_touring": (
        "duty_unsealed_touring",
        "Judged for touring on unsealed roads: look over stops, hoses and joints after rough stretches.",
    ),
    "rock_and_articulation": (
        "duty_rock_and_articulation",
        "Judged for full articulation: cycle the suspension by hand, wheel by wheel and at full lock, before it is driven.",
    ),
}

SAFETY_NOTES = {
    "life_and_limb": "These parts keep the wheel on the vehicle. This verdict is a calculation from the readings given: it does not "
    "replace the inspection of the fitted vehicle by a qualified fitter.",
    "local_codes": "Changes of ride height, tyres, springs and load may need approval: local codes and the vehicle maker's "
    "instructions come first.",
    "measure_after_fitting": "After fitting, tape the build at full droop, ride and bump contact, and compare with the positions given here.",
    "align_and_aim": "After any change of ride height have the wheels aligned, the brakes' hoses and sensors checked and the headlamps aimed.",
    "both_sides": "Fit springs, struts and spacers in pairs: both wheels of an axle alike.",
    "top_spacer": "A spacer on top of the strut lowers the wheel's droop by more than its thickness: check joints, shafts and hoses with "
    "the wheel hanging before the vehicle is driven.",
    "replaced_arm": "Check the replaced arm's joint by hand at full droop and at full bump, and its clearance to spring and body at full lock.",
    "compressed_spring": "A compressed coil spring can kill: use a proper spring compressor.",
}
