"""An axle taped at two stations, in closed form: written from the mechanics alone, for floats, arrays or ufloats.

    S0(h) = S_b + s (h - h_b)      s = (S_d - S_b) / (h_d - h_b)      D0(h) = S0(h) + p

Beyond its stations the line's slope is s (1 + e), e = 0 +- 0.1.
"""

from math import pi

from known_readings import without, without_below
from reference_axles import WISHBONE

from service.engine import STANDARD, Load, LoadItem, Reading
from service.engine.parts import BumpStopSpacer, CoilSpring, SpringSpacer, StrutTopSpacer

GRAVITY = 9.80665
STRAIGHT = without_below(
    without(
        WISHBONE,
        "/travel/stations/1/seat_gap_mm",
        *(f"/travel/stations/{i}/damper_length_mm" for i in range(3)),
    ),
    "/travel/stations/3",
)


def readings(parts, load: Load | None) -> dict[str, tuple[float, float]]:
    """Every reading that enters, short name -> value and half-width."""
    envelope, masses = STRAIGHT.envelope, STRAIGHT.masses
    droop, ride, bump = envelope.travel.stations
    new = next((part for part in parts if isinstance(part, CoilSpring)), None)
    named = {
        "h_d": (droop, "arch_to_hub_mm"), "s_d": (droop, "seat_gap_mm"), "h_r": (ride, "arch_to_hub_mm"),
        "h_b": (bump, "arch_to_hub_mm"), "s_b": (bump, "seat_gap_mm"), "b": (envelope.travel, "bump_stop_ratio"),
        "long": (envelope.fitted.strut, "extended_length_mm"), "closed": (envelope.fitted.strut, "closed_length_mm"),
        "p": (envelope.fitted.strut, "seat_offset_mm"), "gas": (envelope.fitted.strut, "gas_force_n"),
        "rubber": (envelope.fitted.bump_stop, "free_height_mm"),
        "flat": (envelope.fitted.bump_stop, "crushed_height_mm"),
        "unsprung": (envelope, "unsprung_kg_per_wheel"), "axle": (masses, "front_axle_kg"),
        "base": (masses, "wheelbase_mm"), "rating": (masses, "front_axle_rating_kg"),
    }  # fmt: skip
    for prefix, spring in (("old_", envelope.fitted.spring), ("", new or envelope.fitted.spring)):
        for name in ("wire_mm", "total_coils", "free_length_mm", "rate_n_per_mm", "active_coils", "mean_diameter_mm"):
            named[prefix + name] = (spring, name)
        named[prefix + "tensile_strength_mpa"] = (spring, "tensile_strength_mpa")
    for joint, limit in envelope.limits.items():
        named[joint] = (limit, "reached_at_arch_to_hub_mm")
        if limit.reached_in_bump_at_arch_to_hub_mm:
            named[f"{joint}_bump"] = (limit, "reached_in_bump_at_arch_to_hub_mm")
    spacers = {StrutTopSpacer: "t", SpringSpacer: "q", BumpStopSpacer: "w"}
    named |= {spacers[type(part)]: (part, "thickness_mm") for part in parts if type(part) in spacers}
    if load:
        named |= {"mass": (load.accessories[0], "mass_kg"), "place": (load.accessories[0], "behind_front_axle_mm")}
        named["crew"] = (load, "occupants_kg")
    values = {name: read(holder, field) for name, (holder, field) in named.items()}
    seats = STANDARD.occupants_behind_front_axle_share
    share = STANDARD.extrapolation_share
    return values | {
        "seats": (seats.value, seats.plus_minus),
        "e_b": (0.0, share),
        "e_d": (0.0, share),
        "new": (float(new is not None), 0.0),
    }


def read(holder, field: str) -> tuple[float, float]:
    reading: Reading = getattr(holder, field)
    return reading.value, STANDARD.half_width(field, reading)


def computed(r: dict) -> dict:
    """Margins and positions from readings ``r``; the same names as the engine's."""
    t, q, w = (r.get(name, 0.0) for name in "tqw")
    s = (r["s_d"] - r["s_b"]) / (r["h_d"] - r["h_b"])
    added = r["mass"] * (1.0 - r["place"] / r["base"]) + r["crew"] * (1.0 - r["seats"]) if "mass" in r else 0.0
    keeps = r["new"] == 0.0 if isinstance(r["new"], float) else False
    new = {name: r["old_" + name] if keeps else r[name] for name in SPRING}
    hang, factory_hang = (r["h_d"] + (r["long"] - r["p"] + top - r["s_d"]) / (s * (1.0 + r["e_d"])) for top in (t, 0.0))
    touch = r["h_b"] + w / r["b"]
    crushed = touch - (r["rubber"] - r["flat"]) / r["b"]
    seat_f = r["s_b"] + s * (1.0 + r["e_b"]) * (crushed - r["h_b"]) - t - q
    seat_b = r["s_b"] + s * (touch - r["h_b"]) - t - q
    weight = (r["axle"] / 2.0 - r["unsprung"]) * GRAVITY

    def balance(free, rate, spacers, load_n):
        gap = free - (load_n / s - r["gas"]) / rate
        return r["h_b"] + (gap + spacers - r["s_b"]) / s

    factory = balance(r["old_free_length_mm"], r["old_rate_n_per_mm"], 0.0, weight)
    lift = balance(new["free_length_mm"], new["rate_n_per_mm"], t + q, weight + added / 2.0 * GRAVITY) - factory
    ride = r["h_r"] + lift
    solid = new["total_coils"] * (new["wire_mm"] + 0.1)
    factory_crushed = r["h_b"] - (r["rubber"] - r["flat"]) / r["b"]
    force = new["rate_n_per_mm"] * (new["free_length_mm"] - seat_f)
    index = new["mean_diameter_mm"] / new["wire_mm"]
    stress = 8.0 * force * new["mean_diameter_mm"] / (pi * new["wire_mm"] ** 3) * (index + 0.5) / (index - 0.75)
    gaps = 1.5 * new["active_coils"] * (0.0015 * new["mean_diameter_mm"] ** 2 / new["wire_mm"] + 0.1 * new["wire_mm"])
    found = {
        "coil_bind at full_bump": seat_f - solid,
        "damper_bottoming at full_bump": seat_f + q + r["p"] - r["closed"],
        "spring_retention at full_droop": new["free_length_mm"] - (r["long"] - r["p"] - q),
        "spring_stress at full_bump": 0.56 * new["tensile_strength_mpa"] - stress,
        "coil_gap_recommended at bump_contact": seat_b - solid - gaps,
        "bump_travel_left at ride": 100.0 * (ride - crushed) / (r["h_r"] - factory_crushed) - 66.0,
        "droop_travel_left at ride": 100.0 * (hang - ride) / (factory_hang - r["h_r"]) - 66.0,
        "arch_to_hub_mm at full_droop": hang, "arch_to_hub_mm at ride": ride,
        "arch_to_hub_mm at bump_contact": touch, "arch_to_hub_mm at full_bump": crushed,
        "seat_gap_mm at full_bump": seat_f, "seat_gap_mm at bump_contact": seat_b,
        "spring_force_n at full_bump": force, "lift_mm": lift,
    }  # fmt: skip
    for joint in ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose"):
        found[f"{joint} at full_droop"] = r[joint] - hang
        if f"{joint}_bump" in r:
            found[f"{joint} bump at full_bump"] = crushed - r[f"{joint}_bump"]
    if "mass" in r:
        found["axle_rating at ride"] = r["rating"] - r["axle"] - added
    return found


SPRING = (
    "wire_mm",
    "total_coils",
    "free_length_mm",
    "rate_n_per_mm",
    "active_coils",
    "mean_diameter_mm",
    "tensile_strength_mpa",
)
CARRIED = Load((LoadItem(Reading(95.0), Reading(-640.0)),), Reading(150.0))
