"""Keys: who may call, and for what."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "api_key",
        sa.Column("key_id", sa.String(12), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("scopes", sa.String(64), nullable=False),
        sa.Column("secret_hash", sa.String(64), nullable=False),
        sa.Column("created_at", sa.String(20), nullable=False),
        sa.Column("expires_at", sa.String(20), nullable=True),
        sa.Column("revoked_at", sa.String(20), nullable=True),
        sa.Column("last_used_at", sa.String(20), nullable=True),
        sa.PrimaryKeyConstraint("key_id", name=op.f("pk_api_key")),
    )


def downgrade() -> None:
    op.drop_table("api_key")
