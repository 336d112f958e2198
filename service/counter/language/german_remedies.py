"""German: what would mend a build."""

from __future__ import annotations

from service.engine.remedies.sentences import WHAT

GERMAN_WHAT = {
    "top_spacer": "Distanzstücke auf dem Federbein, alle zusammen",
    "spring_spacer": "Distanzstücke unter der Feder, alle zusammen",
    "more_spring_spacer": "Distanzstücke unter der Feder, alle zusammen",
    "stop_spacer": "Distanzstücke am Anschlag, alle zusammen",
    "solid_length": "Feder, Blocklänge",
    "free_length": "Feder, ungespannte Länge",
    "closed_length": "Federbein oder Dämpfer, Länge zusammengeschoben",
    "extended_length": "Federbein oder Dämpfer, Länge ausgezogen",
    "strap": "Fangband, das das Rad bei diesem Maß vom Radlauf zur Radmitte hält",
    "tyre_diameter": "Reifen, Außendurchmesser",
    "tyre_width": "Reifen, Breite",
    "block": "Achsklotz, Höhe",
    "shackle_length": "Federschäkel, Länge",
    "max_deflection": "Blattfeder, erlaubte Durchbiegung",
    "differential_drop": "Distanzstück am Differenzial, Tiefersetzung",
    "more_differential_drop": "Distanzstück am Differenzial, Tiefersetzung",
    "reach": "{joint}, reicht bis zum Maß vom Radlauf zur Radmitte",
    "angle": "{joint}, reicht bis zum Winkel",
    "plunge": "{joint}, reicht bis zur Verschiebung",
    "mass_behind": "{name} ({place} mm hinter der Vorderachse), Masse",
    "mass_ahead": "{name} ({place} mm vor der Vorderachse), Masse",
    "unnamed_behind": "Was {place} mm hinter der Vorderachse sitzt, Masse",
    "unnamed_ahead": "Was {place} mm vor der Vorderachse sitzt, Masse",
    "occupants": "Insassen, alle zusammen",
    "whole_load": "Alles an Bord, im selben Verhältnis leichter",
}
GERMAN_HOW_MUCH = {
    "at_most": "{what}: höchstens {{becomes}} {unit}; jetzt {{was}} {unit}.",
    "at_least": "{what}: mindestens {{becomes}} {unit}; jetzt {{was}} {unit}.",
    "at_most_unstated": "{what}: höchstens {{becomes}} {unit}; jetzt ist nichts angegeben.",
    "at_least_unstated": "{what}: mindestens {{becomes}} {unit}; jetzt ist nichts angegeben.",
    "none": "{what}: gar nichts; jetzt {{was}} {unit}.",
    "measured": "{what}, gemessen: höchstens {{becomes}} {unit}; jetzt sind {{was}} {unit} gerechnet.",
}
GERMAN_UNITS = {"degrees": "Grad"}
GERMAN_SAYS = {
    what: {
        how: text.format(what=GERMAN_WHAT[what], unit=GERMAN_UNITS.get(unit, unit))
        for how, text in GERMAN_HOW_MUCH.items()
    }
    for what, (_, unit) in WHAT.items()
}
"""The engine's sentences, each with the same numbers."""
