"""The demo catalogue's parts, alone and in pairs on each of its axles: one reason, that of the record's headline."""

from itertools import chain, combinations, islice

import pytest
from demo_catalogue import BY_SKU, ENVELOPES, engine_axle

from service.catalogue.engine_values import engine_part
from service.engine import ProposedPart, RefusedError, assemble, evaluate
from service.engine.foremost_finding import in_short

PARTS = {sku: ProposedPart(engine_part(body), name=sku) for sku, body in BY_SKU.items() if body["kind"] != "kit"}
MOST_PAIRS = 250
"""On one axle: a record of each takes its time."""


def builds_on(axle):
    pairs = list(combinations(PARTS, 2))
    some = islice(pairs, 0, None, max(1, len(pairs) // MOST_PAIRS))
    for skus in chain([()], ((sku,) for sku in PARTS), some):
        try:
            yield assemble(engine_axle(axle), [PARTS[sku] for sku in skus], duty="rock_and_articulation")
        except RefusedError:
            continue


@pytest.mark.parametrize("axle", ENVELOPES)
def test_the_reason_is_the_headline(axle):
    verdicts = evaluate(list(builds_on(axle)))
    short = in_short(verdicts)
    assert len(short) > len(PARTS) / 10
    for index, each in enumerate(short):
        record = verdicts.record(index)
        lift = record["lift_mm"]
        assert each.verdict == record["verdict"]
        assert record["headline"].endswith(each.because)
        assert each.lift_mm == (lift and (lift["value"], lift["plus_minus"]))
