"""The ledger's tables. The database itself refuses to change or remove a row of them."""

from sqlalchemy import CheckConstraint, LargeBinary, Text
from sqlmodel import Field

from service.database import Row


class Evaluation(Row, table=True):
    """``id`` is a UUID of version 7, so its order is that of time. ``body`` is what was answered, byte for byte.

    ``revisions`` is canonical JSON: which revisions of vehicle, axle and parts it was decided from. ``place``,
    ``prev_sha256`` and ``sha256`` chain the records.
    """

    __tablename__ = "evaluation"

    id: str = Field(primary_key=True, max_length=36)
    evaluated_at: str = Field(max_length=20, index=True)
    vehicle: str | None = Field(default=None, max_length=64, index=True)
    axle: str = Field(max_length=8)
    verdict: str = Field(max_length=16, index=True)
    action: str = Field(max_length=8)
    headline: str = Field(sa_type=Text)
    engine_version: str = Field(max_length=32)
    policy: str = Field(max_length=32)
    policy_version: int
    request: str = Field(sa_type=Text)
    request_sha256: str = Field(max_length=64)
    body: bytes = Field(sa_type=LargeBinary)
    revisions: str = Field(sa_type=Text)
    place: int = Field(unique=True)
    prev_sha256: str = Field(max_length=64)
    sha256: str = Field(max_length=64)


class EvaluationSku(Row, table=True):
    """Which catalogued parts a record is about, for the search by part."""

    __tablename__ = "evaluation_sku"

    evaluation_id: str = Field(primary_key=True, max_length=36, foreign_key="evaluation.id")
    sku: str = Field(primary_key=True, max_length=64, index=True)


class LedgerHead(Row, table=True):
    """One row: the place and digest of the last record. The database itself refuses to set it back or remove it."""

    __tablename__ = "ledger_head"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    place: int
    sha256: str = Field(max_length=64)
