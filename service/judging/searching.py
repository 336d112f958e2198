"""From a checked search to what the engine looks for, and from what it finds to what is kept."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from service.catalogue.combination import Proposal, is_inline, named, propose
from service.catalogue.listing import unknown_suppliers
from service.catalogue.moment import InForce, moment, parts_in_force
from service.catalogue.references import Lookup
from service.catalogue.suited import suited
from service.database import Database
from service.engine import ENGINE_VERSION, POLICIES, ProposedPart
from service.engine.decision import ACTIONS
from service.engine.parts import PART_KINDS
from service.engine.plausible import layout_fault
from service.engine.refusal import Fault, RefusedError
from service.engine.search import MOST_COMBINATIONS, Candidate, Found, Wanted, combinations

Asked = dict[str, Any]
Choices = Mapping[str, InForce]
IN_QUESTION = ("axle", "load", "duty", "policy", "target_lift_mm", "lift_tolerance_mm")
LIFT_WISH = ("target_lift_mm", "lift_tolerance_mm")


@dataclass(frozen=True, slots=True)
class Prepared:
    """A search that can begin: how many combinations it looks at, and what of the catalogue it rests on."""

    wanted: Wanted
    total: int
    catalogue: dict[str, Any]


def prepare(database: Database, references: Lookup, asked: Asked) -> Prepared:
    """Everything that a search needs of the catalogue, as it stood at one moment.

    Raises ``RefusedError`` where it cannot be, or would take too long; pointers are into the search's request.
    """
    question = {**{name: asked[name] for name in IN_QUESTION if name in asked}, "parts": asked["keep"]}
    axle, skus = named(question)
    suppliers = asked.get("suppliers")
    with database.snapshot() as connection:
        then = moment(connection, references, axle, skus)
        on_sale = suited(connection, axle, asked["kinds"], suppliers)
        choices = parts_in_force(connection, [each.sku for each in on_sale])
        unknown = unknown_suppliers(connection, suppliers or ())
    try:
        proposal = propose(then, question)
    except RefusedError as error:
        raise _into_search(error) from None
    faults = [*_kept_faults(asked["kinds"], proposal), *_kind_faults(asked["kinds"], proposal)]
    faults += [
        Fault(f"/suppliers/{index}", f"The catalogue has no part by {name}: check how it is written.")
        for index, name in enumerate(suppliers or ())
        if name in unknown
    ]
    if faults:
        raise _into_search(RefusedError(faults))
    wanted = _wanted(asked, proposal, choices)
    return Prepared(wanted, _total(wanted, proposal), _rests_on(asked, proposal, choices))


def to_keep(found: Found, kept: int) -> dict[str, Any]:
    """What a search of builds with ``kept`` parts that stay has found, as JSON."""
    counts = {name: getattr(found, name) for name in ("combinations", "refused", "pruned", "evaluated")}
    return {
        "counts": {**counts, "clear": found.clear_in_all},
        "clear": [_candidate(each, kept) for each in found.clear],
        "near_misses": [_candidate(each, kept) for each in found.near_misses],
    }


def question_of(asked: Asked, candidate: dict[str, Any]) -> dict[str, Any]:
    """The evaluation that gives the very verdict on what a search has found."""
    wish = () if candidate["asks_lift"] else LIFT_WISH
    stated = {name: asked[name] for name in IN_QUESTION if name in asked and name not in wish}
    return {**stated, "parts": parts_of(asked, candidate)}


def parts_of(asked: Asked, candidate: dict[str, Any]) -> list[dict[str, Any]]:
    """Parts that stay as they were asked for, then those that were chosen."""
    return [*asked["keep"], *({"sku": sku, "quantity": 1} for sku in candidate["chosen"])]


def _wanted(asked: Asked, proposal: Proposal, choices: Choices) -> Wanted:
    by_kind: dict[str, list[ProposedPart]] = {kind: [] for kind in asked["kinds"]}
    for sku, each in choices.items():
        part = each.catalogued.part
        assert part is not None  # noqa: S101 — a kit is none of the kinds
        by_kind[part.kind].append(ProposedPart(part, 1, sku))
    return Wanted(
        proposal.axle,
        proposal.parts,
        {kind: tuple(parts) for kind, parts in by_kind.items()},
        proposal.load,
        asked["duty"],
        proposal.target,
        asked.get("most_parts"),
        asked["near_misses"],
    )


def _total(wanted: Wanted, proposal: Proposal) -> int:
    try:
        total = combinations(wanted)
    except RefusedError as error:
        raise _into_search(proposal.in_request(error)) from None
    if total > MOST_COMBINATIONS:
        raise RefusedError([Fault("/kinds", _too_many(wanted, total))])
    return total


def _too_many(wanted: Wanted, total: int) -> str:
    sizes = sorted(wanted.choices.items(), key=lambda item: (-len(item[1]), item[0]))
    listed = ", ".join(f"{len(parts):,} of {kind.replace('_', ' ')}" for kind, parts in sizes)
    return (
        f"These kinds make {total:,} combinations ({listed}), and a search looks at {MOST_COMBINATIONS:,} at most. "
        "Let fewer kinds change, name the suppliers, keep a part that is settled, or allow fewer parts (most_parts)."
    )


def _rests_on(asked: Asked, proposal: Proposal, choices: Choices) -> dict[str, Any]:
    head, counted = proposal.axle_head, Counter(each.catalogued.kind for each in choices.values())
    return {
        "vehicle_revision": None if head is None else head.vehicle_revision,
        "axle_revision": None if head is None or is_inline(asked) else head.axle_revision,
        "choices": {kind: counted[kind] for kind in asked["kinds"]},
        "engine_version": ENGINE_VERSION,
        "policy_version": POLICIES[asked["policy"]].version,
    }


def _kept_faults(kinds: Sequence[str], proposal: Proposal) -> Iterator[Fault]:
    for proposed in proposal.parts:
        kind, at = proposed.part.kind, "/".join(proposed.pointer.split("/")[:3])  # the entry, also of a kit's part
        if kind in kinds:
            what = kind.replace("_", " ")
            yield Fault(
                at,
                f"One {what} must stay, and the kind may change as well: take it out of keep or of kinds.",
            )


def _kind_faults(kinds: Sequence[str], proposal: Proposal) -> Iterator[Fault]:
    envelope = proposal.axle.envelope
    for index, kind in enumerate(kinds):
        belongs = layout_fault(PART_KINDS[kind](), envelope.layout, driven=envelope.driven)
        if belongs:
            yield Fault(f"/kinds/{index}", belongs)


def _into_search(refused: RefusedError) -> RefusedError:
    """What an evaluation has among its parts, a search keeps."""
    return RefusedError([Fault(re.sub(r"^/parts\b", "/keep", each.pointer), each.detail) for each in refused.faults])


def _candidate(candidate: Candidate, kept: int) -> dict[str, Any]:
    lift = candidate.lift_mm
    return {
        "chosen": [proposed.name for proposed in candidate.parts[kept:]],
        "verdict": candidate.verdict,
        "action": ACTIONS[candidate.verdict],
        "lift_mm": None if lift is None else {"value": lift[0], "plus_minus": lift[1]},
        "lift_error_mm": candidate.lift_error_mm,
        "nonconformity_probability": candidate.nonconformity_probability,
        "worst": asdict(candidate.worst),
        "asks_lift": candidate.asks_lift,
    }
