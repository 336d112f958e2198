"""A remedy in one plain sentence: what to change, to how much, and what that costs."""

from __future__ import annotations

from service.engine.remedies.levers import Lever
from service.engine.words import JOINTS

WHAT = {
    "top_spacer": "strut-top spacers, all together",
    "spring_spacer": "spring spacers, all together",
    "more_spring_spacer": "spring spacers, all together",
    "stop_spacer": "bump-stop spacers, all together",
    "solid_length": "a spring with a solid length",
    "free_length": "a spring with a free length",
    "closed_length": "a strut or damper with a closed length",
    "extended_length": "a strut or damper with an extended length",
    "strap": "a limit strap that holds the wheel at an arch-to-hub",
    "tyre_diameter": "a tyre with an overall diameter",
    "tyre_width": "a tyre with a section width",
    "block": "a leaf block with a height",
    "shackle_length": "a shackle with a length",
    "max_deflection": "a leaf pack that bears a deflection",
    "differential_drop": "a differential spacer with a drop",
    "occupants": "occupants, all together,",
    "whole_load": "everything on board, lighter in proportion,",
}
UNITS = {"_mm": "mm", "_deg": "degrees", "_kg": "kg", "/load": "kg"}
BOUNDS = {"at_most": "at most", "at_least": "at least"}


def sentence(lever: Lever, becomes: float, check: str) -> str:
    """What to change and to how much.

    >>> from service.engine.remedies.levers import Lever
    >>> lever = Lever("closed_length", "/parts/strut/closed_length_mm", "at_most", 400.0, 400.0, 120.0, lambda _: None)
    >>> sentence(lever, 391.2, "damper_bottoming")
    'A strut or damper with a closed length of at most 391.2 mm; it is 400 mm now.'
    """
    unit = next(unit for ending, unit in UNITS.items() if lever.pointer.endswith(ending))
    what = _what(lever, check)
    if lever.bound == "at_most" and becomes == 0.0:
        return f"{_capital(what.rstrip(','))}: none at all; it is {_figure(lever.was)} {unit} now."
    if lever.name == "solid_length" and lever.was is not None and becomes >= lever.was:
        reckoned = f"{_figure(lever.was)} mm are reckoned now"
        return f"A spring whose measured solid length is at most {_figure(becomes)} mm; {reckoned}."
    now = "none is stated now" if lever.was is None else f"it is {_figure(lever.was)} {unit} now"
    return f"{_capital(what)} of {BOUNDS[lever.bound]} {_figure(becomes)} {unit}; {now}."


def _what(lever: Lever, check: str) -> str:
    if lever.item is not None:
        where = lever.item.behind_front_axle_mm.value
        place = f"{_figure(abs(where))} mm {'behind' if where >= 0.0 else 'ahead of'} the front axle"
        return f"{lever.item.name or 'the mass'} ({place}) with a mass"
    if lever.name == "own_limit":
        reach = "a plunge" if "plunge" in lever.pointer else "an arch-to-hub"
        return f"{_an(JOINTS[check])} that reaches {'an angle' if lever.pointer.endswith('_deg') else reach}"
    return WHAT[lever.name]


def _an(name: str) -> str:
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _figure(value: float | None) -> str:
    return "nothing" if value is None else f"{value:.1f}".rstrip("0").rstrip(".")
