"""Which axles a part is sold for, by an index."""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

AT_ONCE = 500


def upgrade() -> None:
    op.create_table(
        "part_fits",
        sa.Column("sku", sa.String(64), nullable=False),
        sa.Column("axle_name", sa.String(72), nullable=False),
        sa.ForeignKeyConstraint(["sku"], ["part.sku"], name=op.f("fk_part_fits_sku_part")),
        sa.PrimaryKeyConstraint("sku", "axle_name", name=op.f("pk_part_fits")),
    )
    op.create_index(op.f("ix_part_fits_axle_name"), "part_fits", ["axle_name"])
    _fill()


def downgrade() -> None:
    op.drop_table("part_fits")


def _fill() -> None:
    """The parts that are there already, by their bodies in force."""
    connection = op.get_bind()
    bodies = connection.execute(
        sa.text(
            "SELECT part.sku, part_revision.body FROM part JOIN part_revision "
            "ON part_revision.sku = part.sku AND part_revision.revision = part.revision"
        )
    )
    rows = [
        {"sku": sku, "axle_name": name} for sku, body in bodies for name in set(json.loads(body).get("fits") or [""])
    ]
    for start in range(0, len(rows), AT_ONCE):
        connection.execute(
            sa.text("INSERT INTO part_fits (sku, axle_name) VALUES (:sku, :axle_name)"), rows[start : start + AT_ONCE]
        )
