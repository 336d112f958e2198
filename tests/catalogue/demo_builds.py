"""Builds on the demo catalogue's axles: how each is told, and what the engine says to it."""

from typing import Any, NamedTuple

from demo_catalogue import BY_SKU, engine_axle

from service.catalogue.engine_values import engine_part
from service.engine import Load, LoadItem, ProposedPart, Reading, assemble, evaluate
from service.engine.envelope import TargetLift


class Story(NamedTuple):
    """``decided_by``: every check whose outcome is the verdict; the required ones alone for unsafe and undetermined."""

    title: str
    axle: str
    skus: tuple[str, ...]
    verdict: str
    decided_by: set[str] = set()  # noqa: RUF012 - read only
    duty: str = "unsealed_touring"
    occupants_kg: float = 0.0
    target_lift_mm: float | None = None


def judged(story: Story, *, parts: tuple[Any, ...] = (), load: tuple[LoadItem, ...] = ()) -> dict[str, Any]:
    proposed = [ProposedPart(engine_part(BY_SKU[sku]), name=sku, pointer="/parts") for sku in story.skus]
    proposed += [ProposedPart(engine_part(part)) for part in parts]
    target = None if story.target_lift_mm is None else TargetLift(Reading(story.target_lift_mm))
    occupants = Reading(story.occupants_kg) if story.occupants_kg else None
    built = assemble(engine_axle(story.axle), proposed, Load(load, occupants), story.duty, target)
    return evaluate([built]).record(0)


def decisive(record: dict[str, Any]) -> set[str]:
    """The checks that made the verdict; a clear one is made by none."""
    verdict = record["verdict"]
    if verdict == "clear":
        return set()
    advisory_too = verdict == "marginal"
    return {c["check"] for c in record["checks"] if c["outcome"] == verdict and (c["required"] or advisory_too)}


def check_of(record: dict[str, Any], name: str) -> dict[str, Any]:
    return next(check for check in record["checks"] if check["check"] == name)


def sold_for(story: Story) -> bool:
    """Whether all of its parts are sold for its axle."""
    return all(story.axle in (BY_SKU[sku]["fits"] or [story.axle]) for sku in story.skus)
