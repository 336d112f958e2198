"""A remedy in one plain sentence: what to change, and to how much."""

from __future__ import annotations

from service.engine.remedies.levers import Lever
from service.engine.words import JOINTS

WHAT: dict[str, tuple[str, str]] = {
    "top_spacer": ("Strut-top spacers, all together", "mm"),
    "spring_spacer": ("Spring spacers, all together", "mm"),
    "more_spring_spacer": ("Spring spacers, all together", "mm"),
    "stop_spacer": ("Bump-stop spacers, all together", "mm"),
    "solid_length": ("A spring with a solid length", "mm"),
    "free_length": ("A spring with a free length", "mm"),
    "closed_length": ("A strut or damper with a closed length", "mm"),
    "extended_length": ("A strut or damper with an extended length", "mm"),
    "strap": ("A limit strap that holds the wheel at an arch-to-hub", "mm"),
    "tyre_diameter": ("A tyre with an overall diameter", "mm"),
    "tyre_width": ("A tyre with a section width", "mm"),
    "block": ("A leaf block with a height", "mm"),
    "shackle_length": ("A shackle with a length", "mm"),
    "max_deflection": ("A leaf pack that bears a deflection", "mm"),
    "differential_drop": ("A differential spacer with a drop", "mm"),
    "more_differential_drop": ("A differential spacer with a drop", "mm"),
    "reach": ("{article} {joint} that reaches an arch-to-hub", "mm"),
    "angle": ("{article} {joint} that reaches an angle", "degrees"),
    "plunge": ("{article} {joint} that reaches a plunge", "mm"),
    "mass_behind": ("{name} ({place} mm behind the front axle) with a mass", "kg"),
    "mass_ahead": ("{name} ({place} mm ahead of the front axle) with a mass", "kg"),
    "unnamed_behind": ("What sits {place} mm behind the front axle, with a mass", "kg"),
    "unnamed_ahead": ("What sits {place} mm ahead of the front axle, with a mass", "kg"),
    "occupants": ("Occupants with a mass, all together,", "kg"),
    "whole_load": ("Everything on board, lighter in proportion, with a mass", "kg"),
}
"""What may change, and its unit."""
HOW_MUCH = {
    "at_most": "{what} of at most {{becomes}} {unit}; it is {{was}} {unit} now.",
    "at_least": "{what} of at least {{becomes}} {unit}; it is {{was}} {unit} now.",
    "at_most_unstated": "{what} of at most {{becomes}} {unit}; none is stated now.",
    "at_least_unstated": "{what} of at least {{becomes}} {unit}; none is stated now.",
    "none": "{what}: none at all; it is {{was}} {unit} now.",
    "measured": "{what}, measured, of at most {{becomes}} {unit}; {{was}} {unit} are reckoned now.",
}
SAYS = {
    what: {how: text.format(what=words, unit=unit) for how, text in HOW_MUCH.items()}
    for what, (words, unit) in WHAT.items()
}
"""The sentences, by what changes and how."""
REACHES = {"deg": "angle", "plunge_mm": "plunge"}


def sentence(lever: Lever, becomes: float, check: str) -> str:
    """What to change and to how much.

    >>> from service.engine.remedies.levers import Lever
    >>> lever = Lever("closed_length", "/parts/strut/closed_length_mm", "at_most", 400.0, 400.0, 120.0, lambda _: None)
    >>> sentence(lever, 391.2, "damper_bottoming")
    'A strut or damper with a closed length of at most 391.2 mm; it is 400 mm now.'
    """
    joint = JOINTS.get(check, "")
    item = lever.item
    return SAYS[_what(lever)][_how(lever, becomes)].format(
        becomes=_figure(becomes),
        was=_figure(lever.was or 0.0),
        joint=joint,
        article="An" if joint[:1] in "aeiou" else "A",
        name="" if item is None else item.name[:1].upper() + item.name[1:],
        place="" if item is None else _figure(abs(item.behind_front_axle_mm.value)),
    )


def _what(lever: Lever) -> str:
    if lever.item is not None:
        side = "behind" if lever.item.behind_front_axle_mm.value >= 0.0 else "ahead"
        return f"mass_{side}" if lever.item.name else f"unnamed_{side}"
    if lever.name == "own_limit":
        return next((reach for ending, reach in REACHES.items() if lever.pointer.endswith(ending)), "reach")
    return lever.name


def _how(lever: Lever, becomes: float) -> str:
    if lever.bound == "at_most" and becomes == 0.0:
        return "none"
    if lever.was is None:
        return f"{lever.bound}_unstated"
    return "measured" if lever.name == "solid_length" and becomes >= lever.was else lever.bound


def _figure(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
