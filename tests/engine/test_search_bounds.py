"""The bounds that a search leaves combinations out by, on any axle and build that Hypothesis can think of.

The source of each direction is the mechanics of the positions: a stop spacer lets the stop touch sooner, a top spacer
lets the wheel hang lower and takes from what is left above, a spring spacer presses the coil, a strap ends the droop
sooner.
"""

from itertools import product

import numpy as np
import pytest
from beam_axles import BEAMS
from hypothesis import given
from hypothesis import strategies as st
from random_catalogues import catalogue
from reference_axles import part_of, proposed
from strategies import checked, halves, proposals
from surveyed_axles import SURVEYED

from service.engine import STANDARD, RefusedError, assemble, compile_axle, evaluate
from service.engine.brought import brought_by
from service.engine.parts import BumpStopSpacer, LimitStrap, SpringSpacer, StrutTopSpacer
from service.engine.search.as_read import as_read, by_check
from service.engine.search.axes import ORDERED, axis_of, count_of, picks_of
from service.engine.search.bounds import BEST_FOR_BUMP, BEST_FOR_HOLD, CORNERS, HIGHEST, LOWEST, best_corner
from service.engine.search.space import space_of

KINDS = {
    "top_spacer": lambda mm: part_of(StrutTopSpacer, thickness_mm=mm),
    "spring_spacer": lambda mm: part_of(SpringSpacer, thickness_mm=mm),
    "stop_spacer": lambda mm: part_of(BumpStopSpacer, thickness_mm=mm),
    "strap": lambda mm: part_of(LimitStrap, max_arch_to_hub_mm=mm),
}
WITHOUT = dict(ORDERED.values())
NOISE_MM = 1e-6


def two_of(slot, highest):
    numbers = halves(highest - 50, highest + 40) if slot == "strap" else halves(2, 40)
    return st.lists(numbers | st.none(), min_size=2, max_size=2, unique=True)


@st.composite
def blocks_of_sixteen(draw, axle_and_parts):
    """A build, and two numbers of each ordered kind that has a place on its axle."""
    taped, parts, load = draw(axle_and_parts)
    stations = [s.arch_to_hub_mm.value for s in taped.envelope.travel.stations if s.arch_to_hub_mm]
    axle = compile_axle(*taped, STANDARD)
    slots = {slot: kind for kind, (slot, _) in ORDERED.items() if kind in axle.traits.fits}
    if axle.surveyed and taped.envelope.layout == "macpherson":
        slots.pop("top_spacer")
    numbers = {slot: draw(two_of(slot, max(stations, default=620.0))) for slot in slots}
    others = [part for part in parts if (part[0] if isinstance(part, tuple) else part).kind not in slots.values()]
    return axle, others, load, numbers


def margins_of(axle, others, load, numbers):
    """Each combination of the numbers, and its findings as read: margin, shortness of the factory and lift."""
    combinations, builds = [], []
    for chosen in product(*numbers.values()):
        at = dict(zip(numbers, chosen, strict=True))
        more = [KINDS[slot](mm) for slot, mm in at.items() if mm is not None]
        try:
            builds.append(assemble(axle, proposed([*others, *more]), load))
        except RefusedError:
            continue
        combinations.append({slot: WITHOUT[slot] if mm is None else mm for slot, mm in at.items()})
    if not builds:
        return [], None
    return combinations, as_read(brought_by(builds))


def corner_of(combinations, corner):
    """The combination at a corner, where it is among them."""
    ends = {slot: (max if CORNERS[corner][slot] > 0 else min) for slot in combinations[0]}
    wanted = {slot: end(each[slot] for each in combinations) for slot, end in ends.items()}
    return combinations.index(wanted) if wanted in combinations else None


def assert_bounded(axle, others, load, numbers):
    combinations, told = margins_of(axle, others, load, numbers)
    if not combinations:
        return
    for corner in (BEST_FOR_BUMP, BEST_FOR_HOLD):
        best = corner_of(combinations, corner)
        for finding in told.findings:
            if best is not None and best_corner(finding.label) == corner:
                for quantity in (finding.margin, finding.short_of_factory):
                    margin = np.broadcast_to(quantity[:, 0], len(combinations))
                    assert not (margin > margin[best] + NOISE_MM).any(), (finding.label, combinations, margin)
    for corner, beyond in ((LOWEST, np.less), (HIGHEST, np.greater)):
        end = corner_of(combinations, corner)
        if end is not None:
            further = NOISE_MM if corner == HIGHEST else -NOISE_MM
            assert not beyond(told.lift_mm, told.lift_mm[end] + further).any(), (corner, combinations, told.lift_mm)


@checked
@given(blocks_of_sixteen(proposals()))
def test_no_combination_of_a_block_does_better_than_its_corners(block):
    assert_bounded(*block)


OTHERS = {**BEAMS, **{f"surveyed {layout}": axle for layout, axle in SURVEYED.items()}}


@pytest.mark.parametrize("name", OTHERS)
@checked
@given(st.data())
def test_nor_on_beam_axles_torsion_bars_and_surveyed_axles(name, data):
    assert_bounded(*data.draw(blocks_of_sixteen(st.just((OTHERS[name], [], None)))))


@checked
@given(proposals())
def test_what_fails_as_read_is_never_clear(proposal):
    taped, parts, load = proposal
    try:
        build = taped.build(parts, load)
    except RefusedError:
        return
    checks, failing = as_read(brought_by([build])).failing()
    record = evaluate([build]).record(0)
    clear = {check["check"] for check in record["checks"] if check["outcome"] in ("clear", "not_applicable")}
    assert not clear & {check for check, fails in zip(checks, failing[:, 0], strict=True) if fails}
    if record["verdict"] == "clear":
        assert not failing.any()


def test_a_check_fails_where_any_of_its_findings_does():
    names, flags = by_check(["a", "b", "a"], np.array([[True, False], [False, False], [False, False]]))
    assert (names, flags.tolist()) == (("a", "b"), [[True, False], [False, False]])


@pytest.mark.parametrize("most", [0, 1, 2, 3, 7])
def test_combinations_are_counted_as_they_are_made(most):
    axes = space_of(catalogue(7)).axes
    picks = picks_of(axes, most)
    assert picks.shape == (len(axes), count_of(axes, most))
    assert np.unique(picks, axis=1).shape == picks.shape
    assert (np.count_nonzero(picks, axis=0) <= most).all()
    assert (picks < np.array([[axis.choices] for axis in axes])).all()


def test_an_axis_has_its_parts_by_name():
    axle = compile_axle(*BEAMS["solid_axle_coil"], STANDARD)
    parts = proposed([KINDS["stop_spacer"](mm) for mm in (30.0, 10.0)])
    axis = axis_of(axle, "bump_stop_spacer", parts)
    assert axis.order is not None
    assert axis.order.tolist() == [0.0, 30.0, 10.0]
    assert axis.refused.tolist() == [False, False, False]
