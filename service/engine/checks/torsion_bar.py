"""A torsion bar's stress at full bump, where its twist is greatest."""

from __future__ import annotations

from service.engine.checks.finding import Finding, Label, Situation
from service.engine.places import FULL_BUMP
from service.engine.springs import shear_stress_of_bar_mpa
from service.engine.wheel_force import bar_torque_n_mm

BAR_STRESS = Label("bar_stress", "full_bump", "shear_stress_mpa", required=False)


def bar_stress(at: Situation) -> list[Finding]:
    """Permissible shear stress less the bar's at full bump, MPa; advisory. Nothing on an axle without bars."""
    rows = at.rows
    if rows.axle.axle.traits.spring != "torsion_bar":
        return []
    torque = bar_torque_n_mm(rows, at.build.arch_to_hub_mm[FULL_BUMP], slice(None))
    stress, permissible = shear_stress_of_bar_mpa(torque, rows["bar_diameter"]), rows["bar_permissible"]
    return [
        Finding(
            BAR_STRESS,
            value=stress,
            limit=permissible,
            margin=permissible - stress,
            details={"bar_torque_n_m": torque / 1000.0},
        )
    ]
