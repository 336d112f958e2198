"""Every number leaves the engine rounded: no digits that no reading bears."""

import pytest
from beam_axles import BEAMS
from reference_axles import REFERENCES, part_of
from surveyed_axles import SURVEYED

from service.engine.parts import BumpStopSpacer, SpringSpacer, StrutTopSpacer

AXLES = [*BEAMS.values(), *REFERENCES.values(), *SURVEYED.values()]
MOST_DECIMALS = 6


def numbers(told, at=""):
    """Each number below a record's value, by where it stands."""
    if isinstance(told, dict):
        return {where: n for name, each in told.items() for where, n in numbers(each, f"{at}/{name}").items()}
    if isinstance(told, list):
        return {where: n for i, each in enumerate(told) for where, n in numbers(each, f"{at}/{i}").items()}
    return {at: told} if isinstance(told, float) else {}


@pytest.mark.parametrize("axle", AXLES, ids=lambda axle: axle.envelope.layout)
@pytest.mark.parametrize("thickness_mm", [None, 13.3, 21.7, 38.9])
def test_no_number_has_more_digits_than_the_others(axle, thickness_mm):
    spacers = {
        "wishbone_torsion_bar": BumpStopSpacer,
        "solid_axle_leaf": BumpStopSpacer,
        "solid_axle_coil": SpringSpacer,
    }
    kind = spacers.get(axle.envelope.layout, StrutTopSpacer)
    record = axle.record([part_of(kind, thickness_mm=thickness_mm)] if thickness_mm else [])
    contact = record["first_hard_contact"]
    assert contact["bump_stop_crush_used_mm"] == round(contact["bump_stop_crush_used_mm"], 4)
    assert {where: n for where, n in numbers(record).items() if n != round(n, MOST_DECIMALS)} == {}
