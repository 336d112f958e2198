"""Loaded, the axle must stay within its rating, and the vehicle within its own."""

from __future__ import annotations

from service.engine.checks.finding import Finding, Label, Situation

UNLOADED = "No load was given beyond the vehicle's kerb mass."
OF_AXLE = Label("axle_rating", "ride", "axle_mass_kg", why_not=UNLOADED)
OF_VEHICLE = Label("axle_rating", "ride", "gross_mass_kg", why_not=UNLOADED, case="gross")


def axle_rating(at: Situation) -> list[Finding]:
    """Rating less mass, kg: of the axle, and of the whole vehicle where its rating is known."""
    rows = at.rows
    mass, gross = rows["axle_kg"] + rows["added_axle_kg"], rows["front_and_rear_kg"] + rows["added_gross_kg"]
    left = rows["gross_rating_kg"] - gross
    axle = Finding(
        OF_AXLE,
        value=mass,
        limit=rows["axle_rating_kg"],
        margin=rows["axle_rating_kg"] - mass,
        applies=rows.loaded,
        short_of_factory=-rows["added_axle_kg"],
        details={"added_on_this_axle_kg": rows["added_axle_kg"]},
    )
    rated = ~rows.unknown("gross_rating_kg")
    vehicle = Finding(OF_VEHICLE, gross, rows["gross_rating_kg"], left, applies=rows.loaded & rated)
    return [axle, vehicle]
