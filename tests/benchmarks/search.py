"""How long a search takes beside evaluating every one of its combinations, and how much of it the bounds settle.

    python tests/benchmarks/search.py [--combinations 100000] [--sample 5000] [--rounds 3]

The shelf is made for the demo catalogue's most fully measured axle: springs, struts, spacers of all three sorts, bump
stops and straps around what is fitted. Every time is processor time in one process on one core, the best of the rounds.
"""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, product
from time import process_time

import numpy as np
from demo_combination import DUTY, compiled, load, proposed

from service.engine import ProposedPart, Reading, RefusedError, assemble, evaluate
from service.engine.envelope import TargetLift
from service.engine.parts import BumpStop, BumpStopSpacer, CoilSpring, Part, SpringSpacer, Strut, StrutTopSpacer
from service.engine.search import Found, Wanted, combinations, search

LIFT = TargetLift(Reading(40.0), 10.0)
AIM_S = 3.0
CHOICES = {"coil_spring": 24, "strut": 15, "strut_top_spacer": 9, "bump_stop_spacer": 4, "spring_spacer": 4}
"""Of each kind; with none of it that makes 25 x 16 x 10 x 5 x 5 = 100,000 combinations."""
KIT = ("DUN-ARM-T", "DUN-DIF-T25", "PEL-HOSE-T")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--combinations", type=int, default=100_000, help="about so many: springs are left out")
    parser.add_argument("--sample", type=int, default=5_000, help="combinations evaluated one and all, to compare")
    parser.add_argument("--rounds", type=int, default=3, help="repeats of which the best counts")
    options = parser.parse_args()
    wanted = shelf(options.combinations)
    total = combinations(wanted)
    print(f"{total:,} combinations on one axle")
    every = _seconds_for_all(wanted, options.sample, options.rounds) * total
    for name, asked in (("40 mm wanted", wanted), ("no lift wanted", replace(wanted, target=None))):
        found, seconds = _searched(asked, options.rounds)
        aim = f"   aim < {AIM_S:g}" if total >= 100_000 else ""
        print(f"{f'search, {name}':<50}{seconds:>12.3f} s{aim}")
        print(f"{f'  {total / seconds:,.0f} combinations/s':<50}")
        print(f"  clear {found.clear_in_all:,}, pruned {found.pruned:,}, evaluated {found.evaluated:,}")
        print(f"{f'all evaluated / search, {name}':<50}{every / seconds:>12.2f} x")


def shelf(most: int) -> Wanted:
    """A search of about so many combinations; fewer springs make fewer of them."""
    others = int(np.prod([1 + count for kind, count in CHOICES.items() if kind != "coil_spring"]))
    springs = max(1, min(CHOICES["coil_spring"], most // others - 1))
    scale = {**CHOICES, "coil_spring": springs}
    if most < 2 * others:
        scale = {kind: min(count, 2) for kind, count in scale.items()}
    choices = {kind: tuple(made(kind, scale[kind])) for kind in CHOICES}
    return Wanted(compiled(), tuple(proposed(sku) for sku in KIT), choices, load(), DUTY, LIFT)


def made(kind: str, count: int) -> Iterator[ProposedPart]:
    """Parts of a kind around what the axle has."""
    fitted = compiled().envelope.fitted
    for number, share in enumerate(np.linspace(0.0, 1.0, count)):
        parts: dict[str, Part] = {
            "coil_spring": _scaled(fitted.spring or CoilSpring(), share),
            "strut": _scaled(fitted.strut or Strut(), share),
            "bump_stop": BumpStop(Reading(45.0 + 30.0 * share), Reading(22.0 + 10.0 * share)),
            "strut_top_spacer": StrutTopSpacer(Reading(5.0 + 40.0 * share)),
            "bump_stop_spacer": BumpStopSpacer(Reading(5.0 + 25.0 * share)),
            "spring_spacer": SpringSpacer(Reading(5.0 + 15.0 * share)),
        }
        yield ProposedPart(parts[kind], name=f"{kind}-{number:03}")


def _scaled(part: CoilSpring | Strut, share: float) -> CoilSpring | Strut:
    """The same with its free or extended length a little longer, and its rate a little higher."""
    longer = {"free_length_mm": 45.0, "rate_n_per_mm": 20.0, "extended_length_mm": 30.0, "closed_length_mm": 12.0}
    stated = {name: getattr(part, name, None) for name in longer}
    return replace(
        part,
        **{name: Reading(has.value + longer[name] * share) for name, has in stated.items() if has is not None},
    )


def _searched(wanted: Wanted, rounds: int) -> tuple[Found, float]:
    best, found = np.inf, None
    for _ in range(rounds):
        started = process_time()
        found = search(wanted)
        best = min(best, process_time() - started)
    assert found is not None
    return found, best


def _seconds_for_all(wanted: Wanted, sample: int, rounds: int) -> float:
    """Seconds for one combination that is assembled and evaluated in bulk, from a sample of all."""
    every = list(product(*((None, *parts) for parts in wanted.choices.values())))
    some = every[:: max(1, len(every) // sample)]
    return min(_evaluated(wanted, some) for _ in range(rounds)) / len(some)


def _evaluated(wanted: Wanted, some: Sequence[tuple[ProposedPart | None, ...]]) -> float:
    started = process_time()
    builds = []
    for chosen in islice(some, len(some)):
        parts = [*wanted.kept, *(each for each in chosen if each is not None)]
        try:
            builds.append(assemble(wanted.axle, parts, wanted.load, wanted.duty, wanted.target))
        except RefusedError:
            continue
    evaluate(builds)
    return process_time() - started


if __name__ == "__main__":
    main()
