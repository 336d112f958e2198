"""The four positions of the wheel, in the order in which arrays and records have them."""

from __future__ import annotations

FULL_DROOP, RIDE, BUMP_CONTACT, FULL_BUMP = range(4)
NAMES = ("full_droop", "ride", "bump_contact", "full_bump")
