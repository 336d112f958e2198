"""What goes over the wire, as the service's own OpenAPI document describes it.

Made by tests/client/described_types.py; do not edit. An answer may hold more than is named here: leave it alone.
"""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypedDict


class Accessory(TypedDict):
    kind: Literal["accessory"]
    mass_kg: Reading
    behind_front_axle_mm: Reading


class ArticulatedPosition(TypedDict):
    at: Literal["articulated"]
    arch_to_hub_mm: Result
    upper_wheel_arch_to_hub_mm: Result


class AxleEnvelope(TypedDict):
    layout: Literal["wishbone_coilover", "macpherson", "wishbone_torsion_bar", "solid_axle_coil", "solid_axle_leaf"]
    driven: NotRequired[bool]
    bump_stop_on: NotRequired[Literal["arm", "body", "damper_rod"] | None]
    travel: TapedTravel | SurveyedTravel
    fitted: NotRequired[Fitted]
    limits: NotRequired[Limits]
    unsprung_kg_per_wheel: NotRequired[Reading | None]
    spring_base_mm: NotRequired[Reading | None]
    track_mm: NotRequired[Reading | None]
    arm_angle_at_ride_deg: NotRequired[Reading | None]


class AxleItems(TypedDict):
    items: list[StoredAxle]
    next: str | None


class Basis(TypedDict):
    rule: str
    source: str


class BatchRequest(TypedDict):
    requests: list[EvaluationRequest | Any]


class BatchResults(TypedDict):
    results: list[VerdictRecord | Problem]


class BrakeHose(TypedDict):
    kind: Literal["brake_hose"]
    reached_at_arch_to_hub_mm: Reading


class BumpStop(TypedDict):
    kind: Literal["bump_stop"]
    free_height_mm: Reading
    crushed_height_mm: Reading


class BumpStopSpacer(TypedDict):
    kind: Literal["bump_stop_spacer"]
    thickness_mm: Reading


class CataloguedAccessory(TypedDict):
    kind: Literal["accessory"]
    mass_kg: Reading
    behind_front_axle_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedBrakeHose(TypedDict):
    kind: Literal["brake_hose"]
    reached_at_arch_to_hub_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedBumpStop(TypedDict):
    kind: Literal["bump_stop"]
    free_height_mm: Reading
    crushed_height_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedBumpStopSpacer(TypedDict):
    kind: Literal["bump_stop_spacer"]
    thickness_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedCoilSpring(TypedDict):
    rate_n_per_mm: NotRequired[Reading | None]
    force_table: NotRequired[list[list[float]] | None]
    zones: NotRequired[list[list[float]] | None]
    seating_coefficient: NotRequired[float | None]
    active_coils: NotRequired[Reading | None]
    mean_diameter_mm: NotRequired[Reading | None]
    ends: NotRequired[Literal["closed_ground", "closed_unground", "open"] | None]
    forming: NotRequired[Literal["cold", "hot"] | None]
    solid_length_mm: NotRequired[Reading | None]
    wire_tolerance_mm: NotRequired[float | None]
    shear_modulus_mpa: NotRequired[Reading | None]
    tensile_strength_mpa: NotRequired[Reading | None]
    kind: Literal["coil_spring"]
    wire_mm: Reading
    total_coils: Reading
    free_length_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedDamper(TypedDict):
    kind: Literal["damper"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    gas_force_n: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedDifferentialSpacer(TypedDict):
    kind: Literal["differential_spacer"]
    drop_mm: Reading
    inner_cv_reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedEntry(TypedDict):
    sku: str
    quantity: NotRequired[int]


class CataloguedKit(TypedDict):
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]
    kind: Literal["kit"]
    parts: list[KitEntry]


class CataloguedLeafBlock(TypedDict):
    kind: Literal["leaf_block"]
    height_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedLeafPack(TypedDict):
    kind: Literal["leaf_pack"]
    rate_n_per_mm: Reading
    free_camber_mm: Reading
    max_deflection_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedLimitStrap(TypedDict):
    kind: Literal["limit_strap"]
    max_arch_to_hub_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedShackle(TypedDict):
    kind: Literal["shackle"]
    length_mm: Reading
    reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedSpringSpacer(TypedDict):
    kind: Literal["spring_spacer"]
    thickness_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedStrut(TypedDict):
    kind: Literal["strut"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    seat_offset_mm: Reading
    gas_force_n: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedStrutTopSpacer(TypedDict):
    kind: Literal["strut_top_spacer"]
    thickness_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedTorsionBar(TypedDict):
    kind: Literal["torsion_bar"]
    diameter_mm: Reading
    active_length_mm: Reading
    arm_length_mm: Reading
    shear_modulus_mpa: Reading
    permissible_stress_mpa: NotRequired[Reading | None]
    adjusted_ride_arch_to_hub_mm: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedTyre(TypedDict):
    kind: Literal["tyre"]
    overall_diameter_mm: Reading
    section_width_mm: Reading
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class CataloguedUpperArm(TypedDict):
    kind: Literal["upper_arm"]
    ball_joint_max_angle_deg: NotRequired[Reading | None]
    ball_joint_reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    ball_joint_mm: NotRequired[list[Reading] | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    sku: NotRequired[str | None]
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class Check(TypedDict):
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


class CoilSpring(TypedDict):
    rate_n_per_mm: NotRequired[Reading | None]
    force_table: NotRequired[list[list[float]] | None]
    zones: NotRequired[list[list[float]] | None]
    seating_coefficient: NotRequired[float | None]
    active_coils: NotRequired[Reading | None]
    mean_diameter_mm: NotRequired[Reading | None]
    ends: NotRequired[Literal["closed_ground", "closed_unground", "open"] | None]
    forming: NotRequired[Literal["cold", "hot"] | None]
    solid_length_mm: NotRequired[Reading | None]
    wire_tolerance_mm: NotRequired[float | None]
    shear_modulus_mpa: NotRequired[Reading | None]
    tensile_strength_mpa: NotRequired[Reading | None]
    kind: Literal["coil_spring"]
    wire_mm: Reading
    total_coils: Reading
    free_length_mm: Reading


class Damper(TypedDict):
    kind: Literal["damper"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    gas_force_n: NotRequired[Reading | None]


class DifferentialSpacer(TypedDict):
    kind: Literal["differential_spacer"]
    drop_mm: Reading
    inner_cv_reached_at_arch_to_hub_mm: NotRequired[Reading | None]


class EvaluationRequest(TypedDict):
    axle: ReferencedAxle | InlineAxle
    parts: NotRequired[list[CataloguedEntry | InlineEntry]]
    load: NotRequired[Load | None]
    duty: NotRequired[Literal["sealed_road", "unsealed_touring", "rock_and_articulation"]]
    target_lift_mm: NotRequired[Reading | None]
    lift_tolerance_mm: NotRequired[float | None]
    policy: NotRequired[Literal["standard"]]
    remedies: NotRequired[bool]
    record: NotRequired[bool]


class Fault(TypedDict):
    file: NotRequired[str | None]
    line: NotRequired[int | None]
    column: NotRequired[str | None]
    pointer: NotRequired[str | None]
    parameter: NotRequired[str | None]
    detail: str


class FirstHardContact(TypedDict):
    by: Literal["spring", "damper", "bump_stop"] | None
    arch_to_hub_mm: Result | None
    bump_stop_crush_used_mm: float | None
    bump_stop_crush_available_mm: float | None


class Fitted(TypedDict):
    spring: NotRequired[FittedSpring | None]
    strut: NotRequired[FittedStrut | None]
    bump_stop: NotRequired[FittedBumpStop | None]
    damper: NotRequired[FittedDamper | None]
    torsion_bar: NotRequired[FittedTorsionBar | None]
    leaf_pack: NotRequired[FittedLeafPack | None]
    leaf_block: NotRequired[FittedLeafBlock | None]
    shackle: NotRequired[FittedShackle | None]
    tyre: NotRequired[FittedTyre | None]


class FittedBumpStop(TypedDict):
    kind: Literal["bump_stop"]
    free_height_mm: NotRequired[Reading | None]
    crushed_height_mm: NotRequired[Reading | None]


class FittedDamper(TypedDict):
    kind: Literal["damper"]
    extended_length_mm: NotRequired[Reading | None]
    closed_length_mm: NotRequired[Reading | None]
    gas_force_n: NotRequired[Reading | None]


class FittedLeafBlock(TypedDict):
    kind: Literal["leaf_block"]
    height_mm: NotRequired[Reading | None]


class FittedLeafPack(TypedDict):
    kind: Literal["leaf_pack"]
    rate_n_per_mm: NotRequired[Reading | None]
    free_camber_mm: NotRequired[Reading | None]
    max_deflection_mm: NotRequired[Reading | None]


class FittedShackle(TypedDict):
    kind: Literal["shackle"]
    length_mm: NotRequired[Reading | None]
    reached_at_arch_to_hub_mm: NotRequired[Reading | None]


class FittedSpring(TypedDict):
    rate_n_per_mm: NotRequired[Reading | None]
    force_table: NotRequired[list[list[float]] | None]
    zones: NotRequired[list[list[float]] | None]
    seating_coefficient: NotRequired[float | None]
    active_coils: NotRequired[Reading | None]
    mean_diameter_mm: NotRequired[Reading | None]
    ends: NotRequired[Literal["closed_ground", "closed_unground", "open"] | None]
    forming: NotRequired[Literal["cold", "hot"] | None]
    solid_length_mm: NotRequired[Reading | None]
    wire_tolerance_mm: NotRequired[float | None]
    shear_modulus_mpa: NotRequired[Reading | None]
    tensile_strength_mpa: NotRequired[Reading | None]
    kind: Literal["coil_spring"]
    wire_mm: NotRequired[Reading | None]
    total_coils: NotRequired[Reading | None]
    free_length_mm: NotRequired[Reading | None]


class FittedStrut(TypedDict):
    kind: Literal["strut"]
    extended_length_mm: NotRequired[Reading | None]
    closed_length_mm: NotRequired[Reading | None]
    seat_offset_mm: NotRequired[Reading | None]
    gas_force_n: NotRequired[Reading | None]


class FittedTorsionBar(TypedDict):
    kind: Literal["torsion_bar"]
    diameter_mm: NotRequired[Reading | None]
    active_length_mm: NotRequired[Reading | None]
    arm_length_mm: NotRequired[Reading | None]
    shear_modulus_mpa: NotRequired[Reading | None]
    permissible_stress_mpa: NotRequired[Reading | None]
    adjusted_ride_arch_to_hub_mm: NotRequired[Reading | None]


class FittedTyre(TypedDict):
    kind: Literal["tyre"]
    overall_diameter_mm: NotRequired[Reading | None]
    section_width_mm: NotRequired[Reading | None]


class FoundCombination(TypedDict):
    rank: int
    parts: list[CataloguedEntry | InlineEntry]
    verdict: Literal["clear", "marginal", "undetermined", "unsafe"]
    action: Literal["sell", "refer", "stop"]
    lift_mm: Result | None
    lift_error_mm: float | None
    nonconformity_probability: float | None
    worst: WorstCheck
    question: EvaluationRequest


class HardPoints(TypedDict):
    lower_arm_front: list[Reading]
    lower_arm_rear: list[Reading]
    lower_ball_joint: list[Reading]
    rack_end: list[Reading]
    tie_rod_end: list[Reading]
    strut_top: list[Reading]
    strut_bottom: list[Reading]
    wheel_centre: list[Reading]
    spin_axis: list[Reading]
    arch_mark: list[Reading]
    upper_arm_front: NotRequired[list[Reading] | None]
    upper_arm_rear: NotRequired[list[Reading] | None]
    upper_ball_joint: NotRequired[list[Reading] | None]
    strut_bottom_on: NotRequired[Literal["lower_arm", "upper_arm", "upright"] | None]
    inner_cv: NotRequired[list[Reading] | None]
    outer_cv: NotRequired[list[Reading] | None]
    output_axis: NotRequired[list[Reading] | None]
    bump_stop: NotRequired[list[Reading] | None]
    bump_plate: NotRequired[list[Reading] | None]
    hose_body: NotRequired[list[Reading] | None]
    hose_upright: NotRequired[list[Reading] | None]
    rack_travel_mm: NotRequired[Reading | None]


class ImportReport(TypedDict):
    dry_run: bool
    imported: bool
    rows: int
    created: int
    revised: int
    unchanged: int
    errors: list[Fault]


class InlineAccessory(TypedDict):
    name: NotRequired[str | None]
    mass_kg: Reading
    behind_front_axle_mm: Reading


class InlineAxle(TypedDict):
    inline: AxleEnvelope
    measured_on: NotRequired[str | None]
    vehicle_masses: NotRequired[VehicleMasses | None]
    end: NotRequired[Literal["front", "rear"]]


class InlineEntry(TypedDict):
    part: (
        CoilSpring
        | Strut
        | Damper
        | StrutTopSpacer
        | SpringSpacer
        | BumpStop
        | BumpStopSpacer
        | UpperArm
        | DifferentialSpacer
        | LimitStrap
        | BrakeHose
        | Accessory
        | TorsionBar
        | LeafPack
        | LeafBlock
        | Shackle
        | Tyre
    )
    quantity: NotRequired[int]


class Instead(TypedDict):
    parts: list[dict[str, Any]]
    load: NotRequired[dict[str, Any] | None]


class JointMargin(TypedDict):
    margin_mm: NotRequired[Result | None]
    margin_deg: NotRequired[Result | None]


class KitEntry(TypedDict):
    sku: str
    quantity: NotRequired[int]


class LeafBlock(TypedDict):
    kind: Literal["leaf_block"]
    height_mm: Reading


class LeafPack(TypedDict):
    kind: Literal["leaf_pack"]
    rate_n_per_mm: Reading
    free_camber_mm: Reading
    max_deflection_mm: Reading


class Limit(TypedDict):
    reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    reached_in_bump_at_arch_to_hub_mm: NotRequired[Reading | None]
    max_angle_deg: NotRequired[Reading | None]
    neutral_arch_to_hub_mm: NotRequired[Reading | None]
    max_plunge_mm: NotRequired[Reading | None]


class LimitStrap(TypedDict):
    kind: Literal["limit_strap"]
    max_arch_to_hub_mm: Reading


class Limits(TypedDict):
    upper_ball_joint: NotRequired[Limit | None]
    lower_ball_joint: NotRequired[Limit | None]
    tie_rod_end: NotRequired[Limit | None]
    inner_cv: NotRequired[Limit | None]
    outer_cv: NotRequired[Limit | None]
    brake_hose: NotRequired[Limit | None]
    shackle: NotRequired[Limit | None]


class Load(TypedDict):
    accessories: NotRequired[list[CataloguedEntry | InlineAccessory]]
    occupants_kg: NotRequired[Reading | None]


class Measured(TypedDict):
    value: float
    plus_minus: float


class MeasuredAxle(TypedDict):
    layout: Literal["wishbone_coilover", "macpherson", "wishbone_torsion_bar", "solid_axle_coil", "solid_axle_leaf"]
    driven: NotRequired[bool]
    bump_stop_on: NotRequired[Literal["arm", "body", "damper_rod"] | None]
    travel: TapedTravel | SurveyedTravel
    fitted: NotRequired[Fitted]
    limits: NotRequired[Limits]
    unsprung_kg_per_wheel: NotRequired[Reading | None]
    spring_base_mm: NotRequired[Reading | None]
    track_mm: NotRequired[Reading | None]
    arm_angle_at_ride_deg: NotRequired[Reading | None]
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    vehicle: NotRequired[str | None]
    end: NotRequired[Literal["front", "rear"] | None]
    status: NotRequired[Literal["active", "withdrawn"] | None]


class Missing(TypedDict):
    field: str
    needed_for: list[str]
    how_to_measure: str


class PartItems(TypedDict):
    items: list[
        StoredCoilSpring
        | StoredStrut
        | StoredDamper
        | StoredStrutTopSpacer
        | StoredSpringSpacer
        | StoredBumpStop
        | StoredBumpStopSpacer
        | StoredUpperArm
        | StoredDifferentialSpacer
        | StoredLimitStrap
        | StoredBrakeHose
        | StoredAccessory
        | StoredTorsionBar
        | StoredLeafPack
        | StoredLeafBlock
        | StoredShackle
        | StoredTyre
        | StoredKit
    ]
    next: str | None


class Position(TypedDict):
    at: Literal["full_droop", "ride", "bump_contact", "full_bump"]
    arch_to_hub_mm: Result | None
    seat_gap_mm: Result | None
    spring_length_mm: Result | None
    spring_force_n: Result | None
    damper_length_mm: Result | None
    motion_ratio: Result | None
    joints: dict[str, JointMargin]
    camber_deg: NotRequired[Result | None]
    toe_deg: NotRequired[Result | None]


class Problem(TypedDict):
    type: str
    title: str
    status: int
    detail: str
    instance: str
    errors: NotRequired[list[Fault] | None]


class Provenance(TypedDict):
    engine_version: str
    policy: str
    policy_version: int
    vehicle_revision: int | None
    axle_revision: int | None
    part_revisions: dict[str, int]
    request_sha256: str
    evaluated_at: str


class RecordItems(TypedDict):
    items: list[RecordSummary]
    next: str | None


class RecordSummary(TypedDict):
    id: str
    evaluated_at: str
    vehicle: str | None
    axle: Literal["front", "rear"]
    skus: list[str]
    verdict: Literal["clear", "marginal", "undetermined", "unsafe"]
    action: Literal["sell", "refer", "stop"]
    headline: str
    policy: str
    engine_version: str


class ReferencedAxle(TypedDict):
    vehicle: str
    end: Literal["front", "rear"]


class Remedy(TypedDict):
    check: str
    field: str
    bound: Literal["at_most", "at_least"]
    was: float | None
    becomes: float
    step: float
    says: str
    verdict: Literal["clear", "marginal", "undetermined", "unsafe"]
    action: Literal["sell", "refer", "stop"]
    lift_mm: Result | None
    lift_change_mm: float | None
    bump_travel_change_mm: float | None
    droop_travel_change_mm: float | None
    worsens: list[Worsened]
    breaks: list[str]
    instead: Instead | None


class Result(TypedDict):
    value: float
    plus_minus: float


class SafetyNote(TypedDict):
    code: str
    text: str


class Search(TypedDict):
    id: str
    status: Literal["running", "done", "failed"]
    progress: SearchProgress
    asked_at: str
    expires_at: str
    counts: SearchCounts | None
    catalogue: SearchCatalogue
    items: list[FoundCombination]
    next: str | None
    near_misses: list[FoundCombination]
    problem: Problem | None


class SearchCatalogue(TypedDict):
    vehicle_revision: int | None
    axle_revision: int | None
    choices: dict[str, int]
    engine_version: str
    policy_version: int


class SearchCounts(TypedDict):
    combinations: int
    refused: int
    pruned: int
    evaluated: int
    clear: int


class SearchProgress(TypedDict):
    done: int
    of: int


class SearchRequest(TypedDict):
    axle: ReferencedAxle | InlineAxle
    load: NotRequired[Load | None]
    duty: NotRequired[Literal["sealed_road", "unsealed_touring", "rock_and_articulation"]]
    policy: NotRequired[Literal["standard"]]
    target_lift_mm: NotRequired[Reading | None]
    lift_tolerance_mm: NotRequired[float | None]
    kinds: list[
        Literal[
            "coil_spring",
            "strut",
            "damper",
            "strut_top_spacer",
            "spring_spacer",
            "bump_stop",
            "bump_stop_spacer",
            "upper_arm",
            "differential_spacer",
            "limit_strap",
            "brake_hose",
            "torsion_bar",
            "leaf_pack",
            "leaf_block",
            "shackle",
            "tyre",
        ]
    ]
    keep: NotRequired[list[CataloguedEntry | InlineEntry]]
    suppliers: NotRequired[list[str] | None]
    most_parts: NotRequired[int | None]
    near_misses: NotRequired[int]
    limit: NotRequired[int]


class Shackle(TypedDict):
    kind: Literal["shackle"]
    length_mm: Reading
    reached_at_arch_to_hub_mm: NotRequired[Reading | None]


class ShelfFits(TypedDict):
    vehicle: str
    end: Literal["front", "rear"]
    kind: (
        Literal[
            "coil_spring",
            "strut",
            "damper",
            "strut_top_spacer",
            "spring_spacer",
            "bump_stop",
            "bump_stop_spacer",
            "upper_arm",
            "differential_spacer",
            "limit_strap",
            "brake_hose",
            "torsion_bar",
            "leaf_pack",
            "leaf_block",
            "shackle",
            "tyre",
            "accessory",
            "kit",
        ]
        | None
    )
    policy: str
    vehicle_revision: int
    axle_revision: int
    items: list[ShelfItem]


class ShelfItem(TypedDict):
    sku: str
    name: str
    kind: Literal[
        "coil_spring",
        "strut",
        "damper",
        "strut_top_spacer",
        "spring_spacer",
        "bump_stop",
        "bump_stop_spacer",
        "upper_arm",
        "differential_spacer",
        "limit_strap",
        "brake_hose",
        "torsion_bar",
        "leaf_pack",
        "leaf_block",
        "shackle",
        "tyre",
        "accessory",
        "kit",
    ]
    revision: int
    verdict: Literal["clear", "marginal", "undetermined", "unsafe"] | None
    action: Literal["sell", "refer", "stop"]
    reason: ShelfReason
    lift_mm: Result | None


class ShelfReason(TypedDict):
    check: str | None
    because: str


class SpringSpacer(TypedDict):
    kind: Literal["spring_spacer"]
    thickness_mm: Reading


class Station(TypedDict):
    at: Literal["full_droop", "ride", "bump_contact", "between"]
    arch_to_hub_mm: NotRequired[Reading | None]
    seat_gap_mm: NotRequired[Reading | None]
    damper_length_mm: NotRequired[Reading | None]
    tyre_gap_mm: NotRequired[Reading | None]


class StoredAccessory(TypedDict):
    kind: Literal["accessory"]
    mass_kg: Reading
    behind_front_axle_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredAxle(TypedDict):
    layout: Literal["wishbone_coilover", "macpherson", "wishbone_torsion_bar", "solid_axle_coil", "solid_axle_leaf"]
    driven: NotRequired[bool]
    bump_stop_on: NotRequired[Literal["arm", "body", "damper_rod"] | None]
    travel: TapedTravel | SurveyedTravel
    fitted: NotRequired[Fitted]
    limits: NotRequired[Limits]
    unsprung_kg_per_wheel: NotRequired[Reading | None]
    spring_base_mm: NotRequired[Reading | None]
    track_mm: NotRequired[Reading | None]
    arm_angle_at_ride_deg: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    vehicle: str
    end: Literal["front", "rear"]
    status: Literal["active", "withdrawn"]


class StoredBrakeHose(TypedDict):
    kind: Literal["brake_hose"]
    reached_at_arch_to_hub_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredBumpStop(TypedDict):
    kind: Literal["bump_stop"]
    free_height_mm: Reading
    crushed_height_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredBumpStopSpacer(TypedDict):
    kind: Literal["bump_stop_spacer"]
    thickness_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredCoilSpring(TypedDict):
    rate_n_per_mm: NotRequired[Reading | None]
    force_table: NotRequired[list[list[float]] | None]
    zones: NotRequired[list[list[float]] | None]
    seating_coefficient: NotRequired[float | None]
    active_coils: NotRequired[Reading | None]
    mean_diameter_mm: NotRequired[Reading | None]
    ends: NotRequired[Literal["closed_ground", "closed_unground", "open"] | None]
    forming: NotRequired[Literal["cold", "hot"] | None]
    solid_length_mm: NotRequired[Reading | None]
    wire_tolerance_mm: NotRequired[float | None]
    shear_modulus_mpa: NotRequired[Reading | None]
    tensile_strength_mpa: NotRequired[Reading | None]
    kind: Literal["coil_spring"]
    wire_mm: Reading
    total_coils: Reading
    free_length_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredDamper(TypedDict):
    kind: Literal["damper"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    gas_force_n: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredDifferentialSpacer(TypedDict):
    kind: Literal["differential_spacer"]
    drop_mm: Reading
    inner_cv_reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredKit(TypedDict):
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]
    kind: Literal["kit"]
    parts: list[KitEntry]


class StoredLeafBlock(TypedDict):
    kind: Literal["leaf_block"]
    height_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredLeafPack(TypedDict):
    kind: Literal["leaf_pack"]
    rate_n_per_mm: Reading
    free_camber_mm: Reading
    max_deflection_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredLimitStrap(TypedDict):
    kind: Literal["limit_strap"]
    max_arch_to_hub_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredShackle(TypedDict):
    kind: Literal["shackle"]
    length_mm: Reading
    reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredSpringSpacer(TypedDict):
    kind: Literal["spring_spacer"]
    thickness_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredStrut(TypedDict):
    kind: Literal["strut"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    seat_offset_mm: Reading
    gas_force_n: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredStrutTopSpacer(TypedDict):
    kind: Literal["strut_top_spacer"]
    thickness_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredTorsionBar(TypedDict):
    kind: Literal["torsion_bar"]
    diameter_mm: Reading
    active_length_mm: Reading
    arm_length_mm: Reading
    shear_modulus_mpa: Reading
    permissible_stress_mpa: NotRequired[Reading | None]
    adjusted_ride_arch_to_hub_mm: NotRequired[Reading | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredTyre(TypedDict):
    kind: Literal["tyre"]
    overall_diameter_mm: Reading
    section_width_mm: Reading
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredUpperArm(TypedDict):
    kind: Literal["upper_arm"]
    ball_joint_max_angle_deg: NotRequired[Reading | None]
    ball_joint_reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    ball_joint_mm: NotRequired[list[Reading] | None]
    revision: int
    created_at: str
    revised_at: str
    sku: str
    name: str
    supplier: str
    status: NotRequired[Literal["active", "withdrawn"]]
    fits: NotRequired[list[str]]


class StoredVehicle(TypedDict):
    revision: int
    created_at: str
    revised_at: str
    vehicle_id: str
    name: str
    maker: NotRequired[str | None]
    model: NotRequired[str | None]
    years: NotRequired[str | None]
    vehicle_masses: NotRequired[VehicleMasses]
    notes: NotRequired[str | None]
    status: NotRequired[Literal["active", "withdrawn"]]


class Strut(TypedDict):
    kind: Literal["strut"]
    extended_length_mm: Reading
    closed_length_mm: Reading
    seat_offset_mm: Reading
    gas_force_n: NotRequired[Reading | None]


class StrutTopSpacer(TypedDict):
    kind: Literal["strut_top_spacer"]
    thickness_mm: Reading


class SurveyedTravel(TypedDict):
    grade: Literal["surveyed"]
    hard_points: HardPoints


class TapedTravel(TypedDict):
    grade: NotRequired[Literal["taped"]]
    stations: list[Station]
    motion_ratio: NotRequired[Reading | None]
    bump_stop_ratio: NotRequired[Reading | None]


class TorsionBar(TypedDict):
    kind: Literal["torsion_bar"]
    diameter_mm: Reading
    active_length_mm: Reading
    arm_length_mm: Reading
    shear_modulus_mpa: Reading
    permissible_stress_mpa: NotRequired[Reading | None]
    adjusted_ride_arch_to_hub_mm: NotRequired[Reading | None]


class Tyre(TypedDict):
    kind: Literal["tyre"]
    overall_diameter_mm: Reading
    section_width_mm: Reading


class UpperArm(TypedDict):
    kind: Literal["upper_arm"]
    ball_joint_max_angle_deg: NotRequired[Reading | None]
    ball_joint_reached_at_arch_to_hub_mm: NotRequired[Reading | None]
    ball_joint_mm: NotRequired[list[Reading] | None]


class Vehicle(TypedDict):
    revision: NotRequired[int | None]
    created_at: NotRequired[str | None]
    revised_at: NotRequired[str | None]
    vehicle_id: NotRequired[str | None]
    name: str
    maker: NotRequired[str | None]
    model: NotRequired[str | None]
    years: NotRequired[str | None]
    vehicle_masses: NotRequired[VehicleMasses]
    notes: NotRequired[str | None]
    status: NotRequired[Literal["active", "withdrawn"]]


class VehicleItems(TypedDict):
    items: list[StoredVehicle]
    next: str | None


class VehicleMasses(TypedDict):
    wheelbase_mm: NotRequired[Reading | None]
    front_axle_kg: NotRequired[Reading | None]
    rear_axle_kg: NotRequired[Reading | None]
    front_axle_rating_kg: NotRequired[Reading | None]
    rear_axle_rating_kg: NotRequired[Reading | None]
    gross_rating_kg: NotRequired[Reading | None]


class VerdictRecord(TypedDict):
    id: str | None
    verdict: Literal["clear", "marginal", "undetermined", "unsafe"]
    action: Literal["sell", "refer", "stop"]
    headline: str
    checks: list[Check]
    positions: list[Position | ArticulatedPosition]
    first_hard_contact: FirstHardContact
    lift_mm: Result | None
    safety_notes: list[SafetyNote]
    missing: list[Missing]
    remedies: list[Remedy] | None
    assumptions: list[str]
    provenance: Provenance


class Worsened(TypedDict):
    check: str
    was: str
    becomes: str
    margin_was: float | None
    margin_becomes: float | None
    quantity: str


class WorstCheck(TypedDict):
    check: str
    outcome: Literal["clear", "marginal", "undetermined", "unsafe", "not_applicable"]
    at: str | None
    quantity: str
    margin: float | None
    standard_uncertainty: float | None
    conformity_probability: float | None
    because: str


Reading = float | Measured
CataloguedPart = (
    CataloguedCoilSpring
    | CataloguedStrut
    | CataloguedDamper
    | CataloguedStrutTopSpacer
    | CataloguedSpringSpacer
    | CataloguedBumpStop
    | CataloguedBumpStopSpacer
    | CataloguedUpperArm
    | CataloguedDifferentialSpacer
    | CataloguedLimitStrap
    | CataloguedBrakeHose
    | CataloguedAccessory
    | CataloguedTorsionBar
    | CataloguedLeafPack
    | CataloguedLeafBlock
    | CataloguedShackle
    | CataloguedTyre
    | CataloguedKit
)
StoredPart = (
    StoredCoilSpring
    | StoredStrut
    | StoredDamper
    | StoredStrutTopSpacer
    | StoredSpringSpacer
    | StoredBumpStop
    | StoredBumpStopSpacer
    | StoredUpperArm
    | StoredDifferentialSpacer
    | StoredLimitStrap
    | StoredBrakeHose
    | StoredAccessory
    | StoredTorsionBar
    | StoredLeafPack
    | StoredLeafBlock
    | StoredShackle
    | StoredTyre
    | StoredKit
)
