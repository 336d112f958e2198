"""The verdict record."""

from typing import Annotated, Any, Literal

from pydantic import Field

from service.api.schemas.values import Action, End, Sku, Slug, Strict, VerdictWord


class Result(Strict):
    """A result and its expanded uncertainty (k = 2)."""

    value: float
    plus_minus: float


class Basis(Strict):
    rule: str
    source: str


class Check(Strict):
    """One check. ``margin`` is signed so that negative is always bad, in the unit of ``quantity``."""

    check: str
    outcome: Literal["clear", "marginal", "undetermined", "unsafe", "not_applicable"]
    required: bool
    at: str | None
    quantity: str
    value: float | None
    limit: float | None
    reserve: float | None
    margin: float | None
    standard_uncertainty: float | None
    conformity_probability: float | None
    because: str
    basis: list[Basis]
    details: dict[str, Any]


class JointMargin(Strict):
    """How far a joint or hose is from its end, in mm of wheel travel or of plunge, or by its angle."""

    margin_mm: Result | None = None
    margin_deg: Result | None = None


class Position(Strict):
    """One of the four positions of the wheel; null is what the readings do not tell."""

    at: Literal["full_droop", "ride", "bump_contact", "full_bump"]
    arch_to_hub_mm: Result | None
    seat_gap_mm: Result | None
    spring_length_mm: Result | None
    spring_force_n: Result | None
    damper_length_mm: Result | None
    motion_ratio: Result | None
    joints: dict[str, JointMargin]
    camber_deg: Result | None = Field(
        default=None, description="On a surveyed axle; positive with the top of the wheel leaning outwards."
    )
    toe_deg: Result | None = Field(default=None, description="On a surveyed axle; positive with the front pointing in.")


class ArticulatedPosition(Strict):
    """A solid axle with one spring at full droop and the other at full bump: its lower and its upper wheel."""

    at: Literal["articulated"]
    arch_to_hub_mm: Result
    upper_wheel_arch_to_hub_mm: Result


class FirstHardContact(Strict):
    """What meets first, going up from ride, and how much of the bump stop's crush is used by then."""

    by: Literal["spring", "damper", "bump_stop"] | None
    arch_to_hub_mm: Result | None
    bump_stop_crush_used_mm: float | None
    bump_stop_crush_available_mm: float | None


class SafetyNote(Strict):
    code: str
    text: str


class Missing(Strict):
    """A reading that nobody has taken, the checks that wait for it, and how to take it."""

    field: str
    needed_for: list[str]
    how_to_measure: str


class Worsened(Strict):
    """Another check that a remedy makes worse: its margin shrinks, or its outcome gets worse."""

    check: str
    was: str
    becomes: str
    margin_was: float | None
    margin_becomes: float | None
    quantity: str


class Instead(Strict):
    """What to send in place of a request's ``parts`` and ``load`` to ask for the build with a remedy in place."""

    parts: list[dict[str, Any]]
    load: dict[str, Any] | None = None


class Remedy(Strict):
    """The smallest single change of one dimension that makes a failing check clear, evaluated with it in place.

    ``field`` names the dimension: of a part, of the load, or of the axle's own joint. ``becomes`` passes, and one
    ``step`` back does not. ``breaks`` are checks whose outcome gets worse by it; ``verdict`` is that of the whole
    build.
    """

    check: str
    field: str
    bound: Literal["at_most", "at_least"]
    was: float | None
    becomes: float
    step: float
    says: str
    verdict: VerdictWord
    action: Action
    lift_mm: Result | None
    lift_change_mm: float | None
    bump_travel_change_mm: float | None
    droop_travel_change_mm: float | None
    worsens: list[Worsened]
    breaks: list[str]
    instead: Instead | None


class Provenance(Strict):
    """What the verdict rests on. Revisions are null for an axle that came with the request."""

    engine_version: str
    policy: str
    policy_version: int
    vehicle_revision: int | None
    axle_revision: int | None
    part_revisions: dict[str, int]
    request_sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    evaluated_at: Annotated[str, Field(json_schema_extra={"format": "date-time"})]


class VerdictRecord(Strict):
    """The verdict and all its reasons. ``checks`` are sorted worst first. ``id`` is null where nothing was stored."""

    id: str | None
    verdict: VerdictWord
    action: Action
    headline: str
    checks: list[Check]
    positions: list[Position | ArticulatedPosition]
    first_hard_contact: FirstHardContact
    lift_mm: Result | None
    safety_notes: list[SafetyNote]
    missing: list[Missing]
    remedies: list[Remedy] | None = Field(
        description="What would mend each failing required check; null where the request did not want it."
    )
    assumptions: list[str]
    provenance: Provenance


class RecordSummary(Strict):
    """A stored record in one line. ``vehicle`` is null where the axle came with the request."""

    id: str
    evaluated_at: Annotated[str, Field(json_schema_extra={"format": "date-time"})]
    vehicle: Slug | None
    axle: End
    skus: list[Sku]
    verdict: VerdictWord
    action: Action
    headline: str
    policy: str
    engine_version: str


class RecordItems(Strict):
    """A page of records, newest first; ``next`` is the cursor of the page after it."""

    items: list[RecordSummary]
    next: str | None
