"""A remedy asked for as anybody would: from its words alone, apart from how the solver made its builds."""

from dataclasses import replace

from service.engine import Build, Limit, ProposedPart, Reading, RefusedError, assemble, compile_axle, evaluate
from service.engine.parts import PART_KINDS
from service.engine.remedies import remedies

MERE_THICKNESS = ("strut_top_spacer", "spring_spacer", "bump_stop_spacer", "leaf_block")


def faults(build: Build) -> list[str]:
    """Each remedy of a build that does not mend what it says, or that mends it with one step less too."""
    found = []
    for remedy in remedies(evaluate([build]), [0])[0]:
        told = remedy.told
        towards = told["step"] if told["bound"] == "at_most" else -told["step"]
        mended, less = (asked(build, told, value) for value in (told["becomes"], round(told["becomes"] + towards, 6)))
        if mended is not None and (not mends(mended, told) or mended["verdict"] != told["verdict"]):
            found.append(f"{told['check']} {told['field']} {told['becomes']}: does not mend")
        if less is not None and mends(less, told):
            found.append(f"{told['check']} {told['field']} {told['becomes']}: one step less mends too")
    return found


def mends(record, told) -> bool:
    outcomes = {check["check"]: check["outcome"] for check in record["checks"]}
    return outcomes[told["check"]] in ("clear", "not_applicable")


def asked(build: Build, told, value: float):
    """The record of the build with ``value`` in place; none of a mass, and where nobody could ask for it."""
    place, *names = told["field"].strip("/").split("/")
    axle, load = build.axle.axle, build.load
    parts = [each for each in build.parts if each.part.kind != "accessory"]  # they are in the load already
    try:
        if place == "parts":
            parts = with_dimension(build, parts, *names, value)
        elif place == "axle":
            axle = with_limit(axle, *names[1:], value)
        else:
            return None
        return evaluate([assemble(axle, parts, load, build.axle.duty)]).record(0)
    except RefusedError:
        return None


def with_dimension(build: Build, parts, kind: str, field: str, value: float) -> list[ProposedPart]:
    own = [each for each in parts if each.part.kind == kind]
    others = [each for each in parts if each.part.kind != kind]
    if value == 0.0 and kind in MERE_THICKNESS:
        return others
    fitted = getattr(build.axle.axle.envelope.fitted, {"coil_spring": "spring"}.get(kind, kind), None)
    has = own[0].part if own else fitted
    before = getattr(has, field, None) if has is not None else range_of_the_factorys(build, kind)
    several = len(own) > 1 or any(each.quantity > 1 for each in own)
    reading = Reading(value, None if before is None or several else before.plus_minus)
    part = PART_KINDS[kind](**{field: reading}) if has is None else replace(has, **{field: reading})
    return [*others, ProposedPart(part, pointer="/parts/0/part")]


def range_of_the_factorys(build: Build, kind: str) -> Reading | None:
    """How far the factory's hose or upper joint goes, where one with its own is fitted in its place."""
    joint = {"brake_hose": "brake_hose", "upper_arm": "upper_ball_joint"}.get(kind)
    limit = build.axle.axle.envelope.limits.get(joint, Limit())
    return limit.max_angle_deg if build.axle.axle.surveyed and kind == "upper_arm" else limit.reached_at_arch_to_hub_mm


def with_limit(axle, joint: str, field: str, value: float):
    """The axle measured anew with another limit, as well as the one before."""
    limit = axle.envelope.limits.get(joint, Limit())
    before = getattr(limit, field)
    limit = replace(limit, **{field: Reading(value, None if before is None else before.plus_minus)})
    envelope = replace(axle.envelope, limits={**axle.envelope.limits, joint: limit})
    return compile_axle(envelope, axle.masses, axle.end, axle.policy)
