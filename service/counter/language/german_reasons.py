"""German: the reasons, under the keys of the engine's own sentences and with the same numbers in them."""

from __future__ import annotations

JOINTS = {
    "upper_ball_joint": "Oberes Traggelenk",
    "lower_ball_joint": "Unteres Traggelenk",
    "tie_rod_end": "Spurstangenkopf",
    "inner_cv": "Inneres Antriebsgelenk",
    "outer_cv": "Äußeres Antriebsgelenk",
    "brake_hose": "Bremsschlauch",
    "shackle_past_line": "Federschäkel",
}
Wordings = dict[str, str]


def _bent(where: str) -> Wordings:
    return {
        "unsafe": f"{{joint}}: {where} um {{value}} Grad abgewinkelt, {{short}} über das Ende hinaus ({{limit}} Grad).",
        "marginal": f"{{joint}}: {where} um {{value}} ±{{plus_minus}} von {{limit}} Grad abgewinkelt; {{reserve}} müssen sicher übrig sein.",
        "clear": f"{{joint}}: {where} um {{value}} ±{{plus_minus}} von {{limit}} Grad abgewinkelt.",
        "unknown": f"{{joint}}: {where} um {{further_than_factory_deg}} Grad weiter abgewinkelt als ab Werk, und wie weit das geht, ist nicht bekannt.",
        "unknown_near": f"{{joint}}: Es ist nicht sicher, dass das Gelenk {where} nicht weiter abgewinkelt wird als ab Werk.",
        "unknown_far": f"{{joint}}: Wie weit das Gelenk {where} abgewinkelt wird, ist nicht zu sagen.",
        "factory": f"{{joint}}: Wie weit sich das Gelenk abwinkeln lässt, ist nicht bekannt, aber {where} wird es nicht weiter abgewinkelt als ab Werk.",
    }


GERMAN_REASONS: dict[str, Wordings] = {
    "coil_bind": {
        "unsafe": "Voll eingefedert geht die Feder auf Block, bevor der Anschlag zusammengedrückt ist: es fehlen {short} mm (Tellerabstand {seat_gap_mm}, Blocklänge {solid_length_mm}).",
        "condemned": "Die Feder geht auf Block, {short} mm bevor der Anschlag überhaupt berührt (Tellerabstand {seat_gap_at_bump_contact_mm}, Blocklänge {solid_length_mm}): die Feder ist zum Anschlag geworden.",
        "marginal": "Voll eingefedert bleiben {value} ±{plus_minus} mm Windungsabstand; sicher verlangt sind {reserve} mm.",
        "clear": "Voll eingefedert bleiben {value} ±{plus_minus} mm Windungsabstand (Tellerabstand {seat_gap_mm}, Blocklänge {solid_length_mm}).",
        "unknown": "Ob die Feder voll eingefedert auf Block geht, ist nicht zu sagen. Wenn der Anschlag gerade berührt, bleiben {coil_gap_at_bump_contact_mm} mm Windungsabstand, und er wird noch weiter zusammengedrückt.",
        "unknown_far": "Ob die Feder voll eingefedert auf Block geht, ist nicht zu sagen: nicht alles, was dafür nötig ist, ist bekannt.",
        "factory": "Der Windungsabstand bei voller Einfederung ist nicht bekannt, aber dieser Umbau drückt die Werksfeder nicht weiter zusammen als ab Werk.",
    },
    "damper_bottoming": {
        "unsafe": "Voll eingefedert schließt der Dämpfer, bevor der Anschlag zusammengedrückt ist: es fehlen {short} mm.",
        "condemned": "Der Dämpfer schließt, {short} mm bevor der Anschlag überhaupt berührt: er ist zum Anschlag geworden.",
        "marginal": "Voll eingefedert bleiben {value} ±{plus_minus} mm Dämpferweg; sicher verlangt sind {reserve} mm.",
        "clear": "Voll eingefedert bleiben {value} ±{plus_minus} mm Dämpferweg.",
        "unknown": "Ob der Dämpfer bei voller Einfederung schließt, ist nicht zu sagen.",
        "factory": "Der Dämpferweg bei voller Einfederung ist nicht bekannt, aber dieser Umbau schließt das Werksfederbein nicht weiter als ab Werk.",
    },
    "damper_bottoming_no_travel": {
        "unsafe": "Der Anschlag würde schon {short} mm unterhalb der Stelle berühren, an der das Rad voll ausgefedert hängt: er ist immer gedrückt, und es bleibt kein Federweg.",
        "marginal": "Von voll ausgefedert bis zur Berührung des Anschlags bleiben {value} ±{plus_minus} mm Radweg: kaum etwas.",
        "clear": "Von voll ausgefedert bis zur Berührung des Anschlags bleiben {value} ±{plus_minus} mm Radweg.",
    },
    "spring_retention": {
        "unsafe": "Voll ausgefedert ist die Feder um {short} mm zu kurz für ihren Sitz: sie wird lose.",
        "marginal": "Voll ausgefedert ist die Feder noch um {value} ±{plus_minus} mm gespannt; sicher verlangt sind {reserve} mm.",
        "clear": "Voll ausgefedert ist die Feder noch um {value} ±{plus_minus} mm gespannt.",
        "unknown": "Ob die Feder voll ausgefedert sitzen bleibt, ist nicht zu sagen.",
        "factory": "Die freie Länge der Werksfeder ist nicht bekannt, aber dieser Umbau spannt sie voll ausgefedert nicht weniger als ab Werk.",
    },
    "joint": {
        "unsafe": "{joint}: Voll ausgefedert hängt das Rad bei {value} mm unter der Radlaufmarke, {short} mm über das Ende hinaus ({limit} mm).",
        "marginal": "{joint}: Voll ausgefedert bleiben {margin} ±{plus_minus} mm Radweg; sicher verlangt sind {reserve} mm.",
        "clear": "{joint}: Voll ausgefedert bleiben {margin} ±{plus_minus} mm Radweg.",
        "unknown": "{joint}: Das Rad federt {further} mm weiter aus als ab Werk, und wo das Ende ist, ist nicht bekannt.",
        "unknown_near": "{joint}: Es ist nicht sicher, dass das Rad nicht weiter ausfedert als ab Werk, und wo das Ende ist, ist nicht bekannt.",
        "unknown_far": "{joint}: Wie weit das Rad ausfedert und wo das Ende ist, ist nicht zu sagen.",
        "factory": "{joint}: Wo das Ende ist, ist nicht bekannt, aber das Rad federt nicht weiter aus als ab Werk.",
    },
    "joint_bump": {
        "unsafe": "{joint}: Voll eingefedert steigt das Rad {short} mm über das Ende hinaus ({limit} mm unter der Radlaufmarke).",
        "marginal": "{joint}: Voll eingefedert bleiben {margin} ±{plus_minus} mm Radweg; sicher verlangt sind {reserve} mm.",
        "clear": "{joint}: Voll eingefedert bleiben {margin} ±{plus_minus} mm Radweg.",
        "unknown": "{joint}: Das Rad kann {further} mm weiter einfedern als ab Werk, und wo das Ende beim Einfedern ist, ist nicht bekannt.",
        "unknown_near": "{joint}: Es ist nicht sicher, dass das Rad nicht weiter einfedert als ab Werk, und wo das Ende beim Einfedern ist, ist nicht bekannt.",
        "unknown_far": "{joint}: Wie weit das Rad einfedert, ist nicht zu sagen, und damit auch nicht, ob dort das Ende erreicht wird.",
        "factory": "{joint}: Voll eingefedert steigt das Rad nicht weiter als ab Werk.",
    },
    "joint_lowered": {
        "unsafe": "{joint}: Voll eingefedert beugt das tiefer gesetzte Differential es um {short} mm Radweg über sein Ende hinaus.",
        "marginal": "{joint}: Voll eingefedert bleiben bei tiefer gesetztem Differential {margin} ±{plus_minus} mm Radweg; sicher verlangt sind {reserve} mm.",
        "clear": "{joint}: Voll eingefedert bleiben bei tiefer gesetztem Differential {margin} ±{plus_minus} mm Radweg.",
        "unknown": "{joint}: Voll eingefedert beugt das tiefer gesetzte Differential es so, als federte das Rad {further} mm weiter ein als ab Werk, und wo beim Einfedern das Ende ist, ist nicht bekannt.",
        "unknown_near": "{joint}: Es ist nicht sicher, dass das tiefer gesetzte Differential es voll eingefedert nicht weiter beugt als ab Werk, und wo beim Einfedern das Ende ist, ist nicht bekannt.",
        "unknown_far": "{joint}: Wie weit das Rad einfedert, ist nicht zu sagen, und so auch nicht, ob das tiefer gesetzte Differential es bis ans Ende beugt.",
        "factory": "{joint}: Voll eingefedert federt das Rad so viel weniger ein als ab Werk, dass das tiefer gesetzte Differential es nicht weiter beugt.",
    },
    "joint_articulated": {
        "unsafe": "{joint}: Wenn das andere Rad hochgedrückt ist, hängt das untere bei {value} mm, {short} mm über das Ende hinaus ({limit} mm).",
        "marginal": "{joint}: Wenn das andere Rad hochgedrückt ist, bleiben {margin} ±{plus_minus} mm Radweg; sicher verlangt sind {reserve} mm.",
        "clear": "{joint}: Wenn das andere Rad hochgedrückt ist, bleiben {margin} ±{plus_minus} mm Radweg.",
        "unknown": "{joint}: Wenn das andere Rad hochgedrückt ist, hängt das untere {further} mm tiefer als ab Werk, und wo das Ende ist, ist nicht bekannt.",
        "unknown_near": "{joint}: Es ist nicht sicher, dass das untere Rad nicht tiefer hängt als ab Werk, und wo das Ende ist, ist nicht bekannt.",
        "unknown_far": "Wie tief das untere Rad hängt, wenn das andere hochgedrückt ist, ist nicht zu sagen.",
        "factory": "{joint}: Wo das Ende ist, ist nicht bekannt, aber wenn das andere Rad hochgedrückt ist, hängt das untere nicht tiefer als ab Werk.",
    },
    "joint_angle": _bent("voll ausgefedert"),
    "joint_angle_bump": _bent("voll eingefedert"),
    "joint_left_lock": _bent("voll ausgefedert und voll nach links eingeschlagen"),
    "joint_right_lock": _bent("voll ausgefedert und voll nach rechts eingeschlagen"),
    "joint_left_lock_bump": _bent("voll eingefedert und voll nach links eingeschlagen"),
    "joint_right_lock_bump": _bent("voll eingefedert und voll nach rechts eingeschlagen"),
    "joint_plunge": {
        "unsafe": "{joint}: Die Antriebswelle verschiebt sich um {value} mm, {short} mm mehr als erlaubt ({limit} mm).",
        "marginal": "Die Antriebswelle verschiebt sich um {value} ±{plus_minus} von {limit} mm; {reserve} mm müssen sicher übrig sein.",
        "clear": "Die Antriebswelle verschiebt sich um {value} ±{plus_minus} von {limit} mm.",
        "unknown": "{joint}: Die Antriebswelle verschiebt sich um {further} mm mehr als ab Werk, und was erlaubt ist, ist nicht bekannt.",
        "unknown_near": "{joint}: Es ist nicht sicher, dass sich die Antriebswelle nicht weiter verschiebt als ab Werk, und was erlaubt ist, ist nicht bekannt.",
        "unknown_far": "Wie weit sich die Antriebswelle verschiebt, ist nicht zu sagen.",
        "factory": "{joint}: Welche Verschiebung erlaubt ist, ist nicht bekannt, aber die Welle verschiebt sich nicht weiter als ab Werk.",
    },
    "leaf_over_deflection": {
        "unsafe": "Voll eingefedert sind die Blätter {short} mm über die größte erlaubte Durchbiegung hinaus gebogen ({max_deflection_mm} mm).",
        "condemned": "Die Blätter sind {short} mm über die größte erlaubte Durchbiegung hinaus gebogen, bevor der Anschlag überhaupt berührt.",
        "marginal": "Voll eingefedert bleiben den Blättern {value} ±{plus_minus} mm Durchbiegung; sicher verlangt sind {reserve} mm.",
        "clear": "Voll eingefedert bleiben den Blättern {value} ±{plus_minus} mm Durchbiegung.",
        "unknown": "Ob die Blätter voll eingefedert zu weit gebogen werden, ist nicht zu sagen.",
        "factory": "Welche Durchbiegung die Blätter ertragen, ist nicht bekannt, aber dieser Umbau biegt sie nicht weiter als ab Werk.",
    },
    "damper_topping": {
        "condemned": "Der Dämpfer ist am Auszug, {short} mm Radweg bevor die Blätter frei hängen: er hält die hängende Achse.",
        "marginal": "Der Dämpfer ist kaum später am Auszug, als die Blätter frei hängen ({margin} ±{plus_minus} mm Radweg).",
        "clear": "Der Dämpfer lässt die Blätter frei hängen; es bleiben {margin} ±{plus_minus} mm Radweg.",
        "unknown": "Ob der Dämpfer die Blätter frei hängen lässt, ist nicht zu sagen.",
    },
    "bar_stress": {
        "marginal": "Voll eingefedert ist der Drehstab mit {value} ±{plus_minus} MPa belastet: mehr als die zulässigen {limit} MPa, oder zu knapp, um es zu sagen.",
        "clear": "Voll eingefedert ist der Drehstab mit {value} von {limit} MPa belastet.",
        "unknown": "Die Spannung im Drehstab bei voller Einfederung ist nicht zu sagen.",
    },
    "spring_buckling": {
        "marginal": "Voll eingefedert ist die Feder um {value} ±{plus_minus} mm zusammengedrückt: bei {limit} mm kann sie ausknicken.",
        "clear": "Voll eingefedert ist die Feder um {value} mm zusammengedrückt, {margin} mm weniger als zum Ausknicken.",
        "unknown": "Ob die Feder ausknickt, ist nicht zu sagen.",
    },
    "tyre_clearance": {
        "unsafe": "Voll eingefedert berührt der Reifen die Karosserie: es fehlen {short} mm.",
        "marginal": "Voll eingefedert bleiben {value} ±{plus_minus} mm zwischen Reifen und Karosserie; sicher verlangt sind {reserve} mm.",
        "clear": "Voll eingefedert bleiben {value} ±{plus_minus} mm zwischen Reifen und Karosserie.",
        "unknown": "Ob der Reifen voll eingefedert die Karosserie berührt, ist nicht zu sagen.",
        "factory": "Der Abstand des Reifens ist nicht bekannt, aber dieser Reifen kommt der Karosserie nicht näher als der des Werks.",
    },
    "tyre_clearance_articulated": {
        "unsafe": "Wenn das andere Rad hängt, berührt der Reifen die Karosserie: es fehlen {short} mm.",
        "marginal": "Wenn das andere Rad hängt, bleiben {value} ±{plus_minus} mm zwischen Reifen und Karosserie; sicher verlangt sind {reserve} mm.",
        "clear": "Wenn das andere Rad hängt, bleiben {value} ±{plus_minus} mm zwischen Reifen und Karosserie.",
        "unknown": "Ob der Reifen die Karosserie berührt, wenn das andere Rad hängt, ist nicht zu sagen.",
        "factory": "Der Abstand des Reifens ist nicht bekannt, aber wenn das andere Rad hängt, kommt dieser Reifen der Karosserie nicht näher als der des Werks.",
    },
    "linkage_lock": {
        "unsafe": "Die Lenker sperren bei {locks_at_arch_to_hub_mm} mm unter der Radlaufmarke, {short} mm bevor das Federbein ausgezogen ist: nur die Lenker halten das Rad.",
        "marginal": "Die Lenker sperren bei {locks_at_arch_to_hub_mm} mm unter der Radlaufmarke, nur {margin} ±{plus_minus} mm nachdem das Federbein ausgezogen ist.",
        "clear": "Das Federbein ist ausgezogen, bevor die Lenker sperren.",
        "unknown": "Ob die Lenker sperren, bevor das Federbein ausgezogen ist, ist nicht zu sagen.",
        "factory": "Wie lang das ausgezogene Federbein ist, ist nicht bekannt, aber nichts, was das Werk an seiner Stelle hatte, wurde geändert.",
    },
    "linkage_lock_bump": {
        "unsafe": "Die Lenker sperren bei {locks_at_arch_to_hub_mm} mm unter der Radlaufmarke, {short} mm Radweg bevor der Anschlag zusammengedrückt ist.",
        "marginal": "Die Lenker sperren bei {locks_at_arch_to_hub_mm} mm unter der Radlaufmarke, nur {margin} ±{plus_minus} mm Radweg nachdem der Anschlag zusammengedrückt ist.",
        "clear": "Der Anschlag ist zusammengedrückt, bevor die Lenker sperren.",
        "unknown": "Ob die Lenker sperren, bevor der Anschlag zusammengedrückt ist, ist nicht zu sagen.",
        "factory": "Wo der Anschlag zusammengedrückt ist, ist nicht bekannt, aber nichts, was das Werk an seiner Stelle hatte, wurde geändert.",
    },
    "axle_rating": {
        "unsafe": "Beladen trägt die Achse {value} kg, {short} kg mehr als die zulässigen {limit} kg.",
        "marginal": "Beladen trägt die Achse {value} von {limit} kg; die übrigen {margin} ±{plus_minus} kg sind nicht sicher.",
        "clear": "Beladen trägt die Achse {value} von {limit} kg.",
        "unknown": "Ob die Ladung die zulässige Achslast einhält, ist nicht zu sagen.",
        "factory": "Masse oder zulässige Last der Achse sind nicht bekannt, aber die Ladung bringt nicht mehr auf diese Achse.",
    },
    "axle_rating_gross": {
        "unsafe": "Beladen wiegt das Fahrzeug {value} kg, {short} kg mehr als die zulässigen {limit} kg.",
        "marginal": "Beladen wiegt das Fahrzeug {value} von {limit} kg; die übrigen {margin} ±{plus_minus} kg sind nicht sicher.",
        "clear": "Beladen wiegt das Fahrzeug {value} von {limit} kg.",
        "unknown": "Ob das beladene Fahrzeug sein zulässiges Gesamtgewicht einhält, ist nicht zu sagen.",
    },
    "spring_stress": {
        "marginal": "Voll eingefedert ist der Federstahl mit {value} ±{plus_minus} MPa belastet: mehr als die zulässigen {limit} MPa, oder zu knapp, um es zu sagen.",
        "clear": "Voll eingefedert ist der Federstahl mit {value} von {limit} MPa belastet.",
        "unknown": "Die Spannung in der Feder bei voller Einfederung ist nicht zu sagen.",
    },
    "coil_gap_recommended": {
        "condemned": "Die Feder geht auf Block, {lower} mm bevor der Anschlag überhaupt berührt; die Norm empfiehlt {limit} mm Windungsabstand.",
        "marginal": "Wenn der Anschlag gerade berührt, bleiben {value} mm Windungsabstand; die Norm empfiehlt {limit} mm.",
        "clear": "Wenn der Anschlag gerade berührt, bleiben {value} mm Windungsabstand, {margin} mm mehr als die Norm empfiehlt.",
        "unknown": "Ob der Windungsabstand, den die Norm empfiehlt, bei berührtem Anschlag bleibt, ist nicht zu sagen.",
    },
    "bump_travel_left": {
        "marginal": "In Fahrhöhe bleiben {value} % des Einfederwegs ab Werk; sicher verlangt sind {limit} %.",
        "clear": "In Fahrhöhe bleiben {value} % des Einfederwegs ab Werk.",
        "unknown": "Wie viel Einfederweg bleibt, ist nicht zu sagen.",
    },
    "droop_travel_left": {
        "marginal": "In Fahrhöhe bleiben {value} % des Ausfederwegs ab Werk; sicher verlangt sind {limit} %.",
        "clear": "In Fahrhöhe bleiben {value} % des Ausfederwegs ab Werk.",
        "unknown": "Wie viel Ausfederweg bleibt, ist nicht zu sagen.",
    },
    "ride_height": {
        "marginal": "Das Fahrzeug steht {value} ±{plus_minus} mm höher als ab Werk; verlangt waren {limit} mm.",
        "clear": "Das Fahrzeug steht {value} ±{plus_minus} mm höher als ab Werk, wie verlangt ({limit} mm).",
        "marginal_lower": "Das Fahrzeug steht {lower} ±{plus_minus} mm tiefer als ab Werk; verlangt war eine Höherlegung um {limit} mm.",
        "clear_lower": "Das Fahrzeug steht {lower} ±{plus_minus} mm tiefer als ab Werk, wie verlangt ({limit} mm).",
        "unknown": "Wie hoch das Fahrzeug stehen wird, ist nicht zu sagen.",
    },
}
