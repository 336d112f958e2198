"""Searches: what was asked, how far they are, what they found."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "search",
        sa.Column("search_id", sa.String(36), nullable=False),
        sa.Column("status", sa.String(8), nullable=False),
        sa.Column("asked_at", sa.String(20), nullable=False),
        sa.Column("expires_at", sa.String(20), nullable=False),
        sa.Column("heartbeat", sa.String(20), nullable=False),
        sa.Column("done", sa.BigInteger(), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("catalogue", sa.Text(), nullable=False),
        sa.Column("found", sa.LargeBinary(), nullable=True),
        sa.Column("failure", sa.String(16), nullable=True),
        sa.PrimaryKeyConstraint("search_id", name=op.f("pk_search")),
    )
    op.create_index(op.f("ix_search_expires_at"), "search", ["expires_at"])


def downgrade() -> None:
    op.drop_table("search")
