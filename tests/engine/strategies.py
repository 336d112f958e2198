"""Plausible axles, parts and loads for Hypothesis: geometry that hangs together, read to half a millimetre.

An axle is first made whole (its strut is as long as the stations say, its spring carries its mass at ride), then any
part of what is known of it may be forgotten.
"""

from dataclasses import replace

from hypothesis import Phase, reject, settings
from hypothesis import strategies as st
from known_readings import axle_readings, without
from reference_axles import TapedAxle, part_of, station

from service.engine import AxleEnvelope, Fitted, Limit, Load, LoadItem, Reading, RefusedError, Travel, VehicleMasses
from service.engine.loads import STANDARD_GRAVITY
from service.engine.parts import (
    Accessory,
    BrakeHose,
    BumpStop,
    BumpStopSpacer,
    CoilSpring,
    DifferentialSpacer,
    LimitStrap,
    SpringSpacer,
    Strut,
    StrutTopSpacer,
    UpperArm,
)

checked = settings(derandomize=True, deadline=None, max_examples=60, phases=(Phase.explicit, Phase.generate))
"""The same examples each time: a failure here is a failure everywhere. Shrinking takes minutes: by hand, then."""
LIMITS = ("upper_ball_joint", "lower_ball_joint", "tie_rod_end", "inner_cv", "outer_cv", "brake_hose")
RATIO = {"wishbone_coilover": (50, 70), "macpherson": (90, 105)}


def halves(least: float, most: float) -> st.SearchStrategy[float]:
    """Multiples of a half, as anybody would read a tape."""
    return st.integers(int(least * 2), int(most * 2)).map(lambda count: count / 2)


@st.composite
def readings(draw, value: float) -> Reading:
    return Reading(float(value), draw(st.sampled_from((None, None, None, 0.0, 0.5, 1.0, 3.0))))


@st.composite
def full_axles(draw, layout: str | None = None) -> TapedAxle:
    """An axle with everything measured, more or less well."""
    layout = layout or draw(st.sampled_from(tuple(RATIO)))
    percent = draw(st.integers(*RATIO[layout]))
    droop, to_ride, to_contact = draw(halves(560, 700)), draw(halves(50, 110)), draw(halves(35, 100))
    seat, offset, bend = draw(halves(290, 400)), draw(halves(150, 260)), draw(st.sampled_from((0.0, 0.0, 2e-4, -2e-4)))
    below = draw(st.one_of(st.none(), halves(20, 70)))

    def gap(height: float) -> float:
        down = droop - height
        return round((seat - (percent / 100 - bend * down) * down) * 2) / 2

    heights = [("full_droop", droop), ("ride", droop - to_ride), ("bump_contact", droop - to_ride - to_contact)]
    heights += [("between", heights[-1][1] - below)] if below else []
    on_rod = layout == "macpherson"
    ratio = draw(st.integers(50, 95)) / 100
    stop = draw(bump_stops())
    crush = (stop.free_height_mm.value - stop.crushed_height_mm.value) / (1.0 if on_rod else ratio / (percent / 100))
    least = gap(heights[2][1]) - crush
    fitted = Fitted(
        draw(springs(seat, least)),
        part_of(
            Strut,
            extended_length_mm=draw(readings(seat + offset + draw(st.sampled_from((0.0, 0.0, 1.5, -1.5))))),
            closed_length_mm=draw(readings(least + offset - draw(halves(2, 40)))),
            seat_offset_mm=draw(readings(offset)),
            gas_force_n=draw(st.one_of(st.none(), st.sampled_from((150.0, 300.0)))),
        ),
        stop,
    )
    stations = tuple(
        station(at, h, gap(h), gap(h) + offset if draw(st.booleans()) else None)
        for at, h in draw(st.permutations(heights))
    )
    limits = {
        joint: Limit(
            draw(readings(droop + draw(halves(0, 90)))),
            draw(st.one_of(st.none(), readings(heights[2][1] - draw(halves(60, 160))))),
        )
        for joint in LIMITS
    }
    envelope = AxleEnvelope(
        layout,
        Travel(
            stations, draw(st.one_of(st.none(), readings(percent / 100).map(small))), draw(readings(ratio).map(small))
        ),
        driven=draw(st.booleans()),
        fitted=fitted,
        limits=limits,
        unsprung_kg_per_wheel=Reading(draw(halves(35, 60))),
    )
    press = fitted.spring.free_length_mm.value - gap(droop - to_ride)
    force = (fitted.spring.rate_n_per_mm.value * press) * percent / 100
    kerb = 2 * round(force / STANDARD_GRAVITY + envelope.unsprung_kg_per_wheel.value + draw(halves(-15, 15)), 1)
    masses = VehicleMasses(
        *map(Reading, (draw(halves(2300, 3300)), kerb, kerb * 0.8, kerb + 350.0, kerb + 300.0, kerb * 1.8 + 500.0))
    )
    return TapedAxle(envelope, masses, "front")


def small(reading: Reading) -> Reading:
    """A ratio's half-width is a fiftieth of what a length's is."""
    return Reading(reading.value, None if reading.plus_minus is None else reading.plus_minus / 50)


@st.composite
def springs(draw, seat_mm: float = 330.0, least_mm: float = 200.0) -> CoilSpring:
    """A spring that is pressed at a seat gap of ``seat_mm`` and, as a rule, not yet solid at ``least_mm``."""
    wire, solid = draw(halves(12, 17)), least_mm - draw(halves(-5, 90))
    return part_of(
        CoilSpring,
        wire_mm=draw(readings(wire)) if draw(st.booleans()) else wire,
        total_coils=max(3.0, round(4 * solid / wire) / 4),
        free_length_mm=draw(readings(seat_mm + draw(halves(5, 80)))),
        rate_n_per_mm=draw(halves(25, 110)),
        mean_diameter_mm=draw(st.one_of(st.none(), halves(90, 140))),
        ends=draw(st.sampled_from((None, "closed_ground", "closed_unground", "open"))),
        forming=draw(st.sampled_from((None, "cold", "hot"))),
        tensile_strength_mpa=draw(st.one_of(st.none(), st.just(1700.0))),
    )


@st.composite
def progressive(draw, spring: CoilSpring) -> CoilSpring:
    """The same spring with a force table in place of its rate, stiffer as it is pressed."""
    rate = spring.rate_n_per_mm.value
    rates = sorted(draw(st.lists(st.integers(60, 180), min_size=2, max_size=4)))
    points, deflection, force = [(0.0, 0.0)], 0.0, 0.0
    for percent in rates:
        deflection, force = deflection + 40.0, force + 40.0 * rate * percent / 100
        points.append((deflection, force))
    return replace(spring, rate_n_per_mm=None, force_table=tuple(points))


@st.composite
def bump_stops(draw) -> BumpStop:
    free = draw(halves(35, 80))
    crushed = round(free * draw(st.integers(35, 65)) / 100)
    return part_of(BumpStop, free_height_mm=draw(readings(free)), crushed_height_mm=draw(readings(crushed)))


@st.composite
def sparse_axles(draw, layout: str | None = None) -> TapedAxle:
    """An axle of which any part may be unknown; something was taped at one station at least."""
    axle = draw(full_axles(layout))
    known = sorted(axle_readings(axle))
    forgotten = draw(st.sets(st.sampled_from(known), max_size=len(known)))
    keep = f"/travel/stations/{draw(st.integers(0, len(axle.envelope.travel.stations) - 1))}/seat_gap_mm"
    masses = axle.masses if draw(st.booleans()) else None
    sparse = without(axle, *(p for p in forgotten if p != keep))
    return sparse._replace(masses=masses and sparse.masses)


def axles(layout: str | None = None) -> st.SearchStrategy[TapedAxle]:
    return st.one_of(full_axles(layout), sparse_axles(layout))


@st.composite
def builds_on(draw, axle: TapedAxle) -> list:
    """Parts that belong to the axle: any of each kind, none as often as not."""
    envelope = axle.envelope
    highest = max((s.arch_to_hub_mm.value for s in envelope.travel.stations if s.arch_to_hub_mm), default=620.0)
    seat = max((s.seat_gap_mm.value for s in envelope.travel.stations if s.seat_gap_mm), default=330.0)
    spring = springs(seat, seat - 110.0)
    kinds = {
        "spring": spring.flatmap(lambda s: st.one_of(st.just(s), progressive(s))),
        "strut": st.builds(
            lambda longer, offset: part_of(
                Strut,
                extended_length_mm=seat + 200.0 + longer,
                closed_length_mm=seat + 60.0,
                seat_offset_mm=200.0 + offset,
            ),
            halves(-10, 40), halves(-10, 10),
        ),
        "top": st.tuples(halves(2, 25).map(spacer_of(StrutTopSpacer)), st.integers(1, 2)),
        "seat": st.tuples(halves(2, 30).map(spacer_of(SpringSpacer)), st.integers(1, 2)),
        "stop": bump_stops(),
        "stop_spacer": halves(2, 30).map(spacer_of(BumpStopSpacer)),
        "strap": halves(highest - 60, highest + 40).map(lambda h: part_of(LimitStrap, max_arch_to_hub_mm=h)),
        "hose": halves(highest, highest + 80).map(lambda h: part_of(BrakeHose, reached_at_arch_to_hub_mm=h)),
        "accessory": st.builds(
            lambda mass, place: part_of(Accessory, mass_kg=mass, behind_front_axle_mm=place),
            halves(5, 120), halves(-900, 4000),
        ),
    }  # fmt: skip
    if envelope.layout == "wishbone_coilover":
        kinds["arm"] = st.one_of(st.none(), halves(highest, highest + 60)).map(
            lambda h: part_of(UpperArm, ball_joint_reached_at_arch_to_hub_mm=h)
        )
    if envelope.driven:
        kinds["differential"] = st.builds(
            lambda drop, h: part_of(DifferentialSpacer, drop_mm=drop, inner_cv_reached_at_arch_to_hub_mm=h),
            halves(5, 40), st.one_of(st.none(), halves(highest, highest + 60)),
        )  # fmt: skip
    chosen = draw(st.lists(st.sampled_from(sorted(kinds)), unique=True, max_size=5))
    return [draw(kinds[name]) for name in chosen]


def spacer_of(kind):
    return lambda thickness: part_of(kind, thickness_mm=thickness)


@st.composite
def loads(draw) -> Load | None:
    item = st.builds(
        lambda mass, place: LoadItem(Reading(mass), Reading(place)), halves(5, 200), halves(-900, 4000)
    )  # fmt: skip
    items = draw(st.lists(item, max_size=2))
    occupants = draw(st.one_of(st.none(), st.sampled_from((0.0, 80.0, 160.0))))
    return Load(tuple(items), None if occupants is None else Reading(occupants))


@st.composite
def proposals(draw, layout: str | None = None, source=axles):
    """An axle with the parts proposed for it and what it shall carry; none that is refused, as one without travel."""
    axle = draw(source(layout))
    parts, load = draw(builds_on(axle)), draw(loads())
    try:
        axle.build(parts, load)
    except RefusedError:
        reject()
    return axle, parts, load
