"""Handbook table of end types, read on the page "Formulas used for compression spring design" (amesweb.info)."""

import pytest

from service.engine.springs import active_coils_of, solid_length_mm


@pytest.mark.parametrize(
    ("row", "ends", "forming", "length_mm"),
    [
        ("plain", "open", "cold", 126.0),
        ("plain", "open", "hot", 126.0),
        ("squared and ground", "closed_ground", "cold", 112.0),
    ],
)
def test_solid_length_of_14_mm_wire_and_8_coils(row, ends, forming, length_mm):
    assert solid_length_mm(14.0, 8.0, ends, forming) == length_mm, row


@pytest.mark.parametrize("forming", ["cold", "hot", None])
def test_squared_but_not_ground_is_never_shorter_than_the_handbook(forming):
    assert solid_length_mm(14.0, 8.0, "closed_unground", forming) >= 126.0  # (Nt + 1) d; the European rows add more


@pytest.mark.parametrize(("ends", "active"), [("open", 8.0), ("closed_ground", 6.0), ("closed_unground", 6.0)])
def test_active_coils_of_8(ends, active):
    assert active_coils_of(8.0, "cold", ends) == active
