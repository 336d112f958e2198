"""Verdicts on parts alone on the factory axle, worked out before anybody asks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "shelf_verdict",
        sa.Column("vehicle_id", sa.String(64), nullable=False),
        sa.Column("end", sa.String(8), nullable=False),
        sa.Column("sku", sa.String(64), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("verdict", sa.String(16), nullable=True),
        sa.Column("check_name", sa.String(32), nullable=True),
        sa.Column("because", sa.Text(), nullable=False),
        sa.Column("lift_mm", sa.Float(), nullable=True),
        sa.Column("lift_plus_minus_mm", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("vehicle_id", "end", "sku", name=op.f("pk_shelf_verdict")),
    )


def downgrade() -> None:
    op.drop_table("shelf_verdict")
