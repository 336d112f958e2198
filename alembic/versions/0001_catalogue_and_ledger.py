"""The catalogue in revisions, and the ledger of verdict records."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WRITTEN_ONCE = ("vehicle_revision", "axle_revision", "part_revision", "evaluation", "evaluation_sku")


def upgrade() -> None:
    _create_vehicles()
    _create_axles()
    _create_parts()
    _create_ledger()
    if op.get_context().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION written_once() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'rows of % are written once', TG_TABLE_NAME; END $$"
        )
    for table in WRITTEN_ONCE:
        _protect(table)


def downgrade() -> None:
    for table in (
        "evaluation_sku", "evaluation", "part_revision", "part", "axle_revision", "axle", "vehicle_revision", "vehicle",
    ):  # fmt: skip
        op.drop_table(table)
    if op.get_context().dialect.name == "postgresql":
        op.execute("DROP FUNCTION written_once()")


def _protect(table: str) -> None:
    """Let the database itself refuse to change or remove a row."""
    if op.get_context().dialect.name == "postgresql":
        op.execute(
            f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION written_once()"
        )
        return
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are written once'); END"
        )


def _head_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("status", sa.String(16), nullable=False),
        sa.Column("created_at", sa.String(20), nullable=False),
    ]


def _revision_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("revised_at", sa.String(20), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
    ]


def _create_vehicles() -> None:
    op.create_table(
        "vehicle",
        sa.Column("vehicle_id", sa.String(64), nullable=False),
        *_head_columns(),
        sa.PrimaryKeyConstraint("vehicle_id", name=op.f("pk_vehicle")),
    )
    op.create_table(
        "vehicle_revision",
        sa.Column("vehicle_id", sa.String(64), nullable=False),
        *_revision_columns(),
        sa.ForeignKeyConstraint(
            ["vehicle_id"], ["vehicle.vehicle_id"], name=op.f("fk_vehicle_revision_vehicle_id_vehicle")
        ),
        sa.PrimaryKeyConstraint("vehicle_id", "revision", name=op.f("pk_vehicle_revision")),
    )


def _create_axles() -> None:
    op.create_table(
        "axle",
        sa.Column("vehicle_id", sa.String(64), nullable=False),
        sa.Column("end", sa.String(8), nullable=False),
        *_head_columns(),
        sa.ForeignKeyConstraint(["vehicle_id"], ["vehicle.vehicle_id"], name=op.f("fk_axle_vehicle_id_vehicle")),
        sa.PrimaryKeyConstraint("vehicle_id", "end", name=op.f("pk_axle")),
    )
    op.create_table(
        "axle_revision",
        sa.Column("vehicle_id", sa.String(64), nullable=False),
        sa.Column("end", sa.String(8), nullable=False),
        *_revision_columns(),
        sa.ForeignKeyConstraint(
            ["vehicle_id", "end"], ["axle.vehicle_id", "axle.end"], name=op.f("fk_axle_revision_vehicle_id_axle")
        ),
        sa.PrimaryKeyConstraint("vehicle_id", "end", "revision", name=op.f("pk_axle_revision")),
    )


def _create_parts() -> None:
    op.create_table(
        "part",
        sa.Column("sku", sa.String(64), nullable=False),
        *_head_columns(),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("supplier", sa.String(200), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("sku", name=op.f("pk_part")),
    )
    op.create_index(op.f("ix_part_kind"), "part", ["kind"])
    op.create_index(op.f("ix_part_supplier"), "part", ["supplier"])
    op.create_table(
        "part_revision",
        sa.Column("sku", sa.String(64), nullable=False),
        *_revision_columns(),
        sa.ForeignKeyConstraint(["sku"], ["part.sku"], name=op.f("fk_part_revision_sku_part")),
        sa.PrimaryKeyConstraint("sku", "revision", name=op.f("pk_part_revision")),
    )


def _create_ledger() -> None:
    op.create_table(
        "evaluation",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("evaluated_at", sa.String(20), nullable=False),
        sa.Column("vehicle", sa.String(64), nullable=True),
        sa.Column("axle", sa.String(8), nullable=False),
        sa.Column("verdict", sa.String(16), nullable=False),
        sa.Column("action", sa.String(8), nullable=False),
        sa.Column("headline", sa.Text(), nullable=False),
        sa.Column("engine_version", sa.String(32), nullable=False),
        sa.Column("policy", sa.String(32), nullable=False),
        sa.Column("policy_version", sa.Integer(), nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("request_sha256", sa.String(64), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_evaluation")),
    )
    op.create_index(op.f("ix_evaluation_evaluated_at"), "evaluation", ["evaluated_at"])
    op.create_index(op.f("ix_evaluation_vehicle"), "evaluation", ["vehicle"])
    op.create_index(op.f("ix_evaluation_verdict"), "evaluation", ["verdict"])
    op.create_table(
        "evaluation_sku",
        sa.Column("evaluation_id", sa.String(36), nullable=False),
        sa.Column("sku", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(
            ["evaluation_id"], ["evaluation.id"], name=op.f("fk_evaluation_sku_evaluation_id_evaluation")
        ),
        sa.PrimaryKeyConstraint("evaluation_id", "sku", name=op.f("pk_evaluation_sku")),
    )
    op.create_index(op.f("ix_evaluation_sku_sku"), "evaluation_sku", ["sku"])
