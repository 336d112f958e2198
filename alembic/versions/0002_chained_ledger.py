"""The ledger as a chain, and the revisions that each record was decided from in a column of their own."""

from __future__ import annotations

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

ORIGIN = "0" * 64
AT_ONCE = 500
ADDED = {"revisions": sa.Text, "place": sa.Integer, "prev_sha256": sa.String, "sha256": sa.String}
FACTS = (
    "id", "evaluated_at", "vehicle", "axle", "verdict", "action", "headline", "engine_version", "policy",
    "policy_version",
)  # fmt: skip


def upgrade() -> None:
    _unprotect_records()
    with op.batch_alter_table("evaluation") as table:
        for column in _added(nullable=True):
            table.add_column(column)
    place, last = _chain_what_is_there()
    with op.batch_alter_table("evaluation") as table:
        for column in _added(nullable=True):
            table.alter_column(column.name, existing_type=column.type, nullable=False)
        table.create_unique_constraint(op.f("uq_evaluation_place"), ["place"])
    _protect_records()
    _create_head(place, last)


def downgrade() -> None:
    op.drop_table("ledger_head")
    if _on_server():
        op.execute("DROP FUNCTION head_moves_on()")
    _unprotect_records()
    with op.batch_alter_table("evaluation") as table:
        table.drop_constraint(op.f("uq_evaluation_place"), type_="unique")
        for column in ADDED:
            table.drop_column(column)
    _protect_records()


def _added(*, nullable: bool) -> list[sa.Column[object]]:
    return [
        sa.Column("revisions", sa.Text(), nullable=nullable),
        sa.Column("place", sa.Integer(), nullable=nullable),
        sa.Column("prev_sha256", sa.String(64), nullable=nullable),
        sa.Column("sha256", sa.String(64), nullable=nullable),
    ]


def _on_server() -> bool:
    return op.get_context().dialect.name == "postgresql"


def _chain_what_is_there() -> tuple[int, str]:
    """Chain the records of before in the order of their ids, which is that of time."""
    records = sa.table("evaluation", *(sa.column(name) for name in (*FACTS, "request", "body", *ADDED)))
    connection = op.get_bind()
    wanted = sa.select(records).order_by(records.c.id).limit(AT_ONCE)
    place, last, after = 0, ORIGIN, ""
    while rows := connection.execute(wanted.where(records.c.id > after)).mappings().all():
        for row in rows:
            place += 1
            link = {"place": place, "prev_sha256": last, "revisions": _revisions(bytes(row["body"]))}
            after, last = row["id"], _digest(connection, row, link)
            change = sa.update(records).where(records.c.id == row["id"])
            connection.execute(change.values(**link, sha256=last))
    return place, last


def _revisions(body: bytes) -> str:
    stated = json.loads(body)["provenance"]
    return _canonical(
        {"vehicle": stated["vehicle_revision"], "axle": stated["axle_revision"], "parts": stated["part_revisions"]}
    )


def _digest(connection: sa.Connection, row: sa.RowMapping, link: dict[str, object]) -> str:
    parts = sa.table("evaluation_sku", sa.column("evaluation_id"), sa.column("sku"))
    skus = connection.execute(sa.select(parts.c.sku).where(parts.c.evaluation_id == row["id"])).scalars()
    facts = {
        **{name: row[name] for name in FACTS},
        **link,
        "skus": sorted(skus),
        "request_sha256": hashlib.sha256(row["request"].encode()).hexdigest(),
        "body_sha256": hashlib.sha256(row["body"]).hexdigest(),
    }
    return hashlib.sha256(_canonical(facts).encode()).hexdigest()


def _canonical(value: object) -> str:
    """RFC 8785's spelling, for values whose names are ASCII and whose numbers are whole."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _create_head(place: int, last: str) -> None:
    head = op.create_table(
        "ledger_head",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_ledger_head_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger_head")),
    )
    op.bulk_insert(head, [{"id": 1, "place": place, "sha256": last}])
    refusal = "the head of the ledger only moves on"
    if not _on_server():
        moved = "CREATE TRIGGER ledger_head_moves_on BEFORE UPDATE ON ledger_head WHEN NEW.place <= OLD.place"
        kept = "CREATE TRIGGER ledger_head_no_delete BEFORE DELETE ON ledger_head"
        for trigger in (moved, kept):
            op.execute(f"{trigger} BEGIN SELECT RAISE(ABORT, '{refusal}'); END")
        return
    op.execute(
        "CREATE FUNCTION head_moves_on() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{refusal}'; END $$"
    )
    op.execute(
        "CREATE TRIGGER ledger_head_moves_on BEFORE UPDATE ON ledger_head FOR EACH ROW "
        "WHEN (NEW.place <= OLD.place) EXECUTE FUNCTION head_moves_on()"
    )
    op.execute(
        "CREATE TRIGGER ledger_head_kept BEFORE DELETE OR TRUNCATE ON ledger_head "
        "FOR EACH STATEMENT EXECUTE FUNCTION head_moves_on()"
    )


def _protect_records() -> None:
    if _on_server():
        op.execute(
            "CREATE TRIGGER evaluation_written_once BEFORE UPDATE OR DELETE OR TRUNCATE ON evaluation "
            "FOR EACH STATEMENT EXECUTE FUNCTION written_once()"
        )
        return
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER evaluation_no_{verb.lower()} BEFORE {verb} ON evaluation "
            "BEGIN SELECT RAISE(ABORT, 'rows of evaluation are written once'); END"
        )


def _unprotect_records() -> None:
    if _on_server():
        op.execute("DROP TRIGGER evaluation_written_once ON evaluation")
        return
    for verb in ("update", "delete"):
        op.execute(f"DROP TRIGGER evaluation_no_{verb}")
