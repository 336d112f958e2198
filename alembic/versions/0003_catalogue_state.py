"""A counter of the catalogue's changes, kept by the database itself.

On PostgreSQL it is counted when a transaction commits, and once for each: two editors hold each other up no longer than
that, and nobody waits for a row while holding the counter.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

HEADS = ("vehicle", "axle", "part")
VERBS = ("INSERT", "UPDATE", "DELETE")
COUNT = "UPDATE catalogue_state SET changes = changes + 1;"


def upgrade() -> None:
    op.create_table(
        "catalogue_state",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("changes", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_catalogue_state_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_state")),
    )
    op.execute("INSERT INTO catalogue_state (id, changes) VALUES (1, 0)")
    if op.get_context().dialect.name == "postgresql":
        _count_at_commit()
    else:
        _count_at_once()


def downgrade() -> None:
    if op.get_context().dialect.name == "postgresql":
        for table in HEADS:
            op.execute(f"DROP TRIGGER {table}_counted ON {table}")
        op.execute("DROP FUNCTION count_catalogue_change()")
    else:
        for table in HEADS:
            for verb in VERBS:
                op.execute(f"DROP TRIGGER {table}_{verb.lower()}_counted")
    op.drop_table("catalogue_state")


def _count_at_commit() -> None:
    op.execute(
        "CREATE FUNCTION count_catalogue_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF coalesce(current_setting('coilgap.catalogue_counted', true), '') <> 'yes' THEN "
        f"{COUNT} "
        "PERFORM set_config('coilgap.catalogue_counted', 'yes', true); "
        "END IF; RETURN NULL; END $$"
    )
    for table in HEADS:
        op.execute(
            f"CREATE CONSTRAINT TRIGGER {table}_counted AFTER INSERT OR UPDATE OR DELETE ON {table} "
            "DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION count_catalogue_change()"
        )


def _count_at_once() -> None:
    for table in HEADS:
        for verb in VERBS:
            op.execute(f"CREATE TRIGGER {table}_{verb.lower()}_counted AFTER {verb} ON {table} BEGIN {COUNT} END")
