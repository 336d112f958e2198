"""What a request under an Idempotency-Key was answered the first time."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "first_answer",
        sa.Column("caller", sa.String(12), nullable=False),
        sa.Column("idempotency_key", sa.String(255), nullable=False),
        sa.Column("request_sha256", sa.String(64), nullable=False),
        sa.Column("answered_at", sa.String(20), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("caller", "idempotency_key", name=op.f("pk_first_answer")),
    )
    op.create_index(op.f("ix_first_answer_answered_at"), "first_answer", ["answered_at"])


def downgrade() -> None:
    op.drop_table("first_answer")
