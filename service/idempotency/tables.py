"""The table of first answers."""

from sqlalchemy import LargeBinary, Text
from sqlmodel import Field

from service.database import Row


class FirstAnswer(Row, table=True):
    """What a request under an Idempotency-Key was answered. ``request_sha256`` tells whether it is sent again."""

    __tablename__ = "first_answer"

    caller: str = Field(primary_key=True, max_length=12)
    idempotency_key: str = Field(primary_key=True, max_length=255)
    request_sha256: str = Field(max_length=64)
    answered_at: str = Field(max_length=20, index=True)
    status: int
    headers: str = Field(sa_type=Text)
    body: bytes = Field(sa_type=LargeBinary)
