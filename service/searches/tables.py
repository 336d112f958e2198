"""The table of searches."""

from sqlalchemy import BigInteger, LargeBinary, Text
from sqlmodel import Field

from service.database import Row


class Search(Row, table=True):
    """A search, and while it is under way how many combinations of ``total`` are ``done``.

    ``heartbeat`` is when the process that searches was last known to live. ``request`` and ``catalogue`` are JSON;
    ``found``, when it is done, is JSON made small by zlib. ``failure`` says why it has failed.
    """

    __tablename__ = "search"

    search_id: str = Field(primary_key=True, max_length=36)
    status: str = Field(max_length=8)
    asked_at: str = Field(max_length=20)
    expires_at: str = Field(max_length=20, index=True)
    heartbeat: str = Field(max_length=20)
    done: int = Field(sa_type=BigInteger)
    total: int = Field(sa_type=BigInteger)
    request: str = Field(sa_type=Text)
    catalogue: str = Field(sa_type=Text)
    found: bytes | None = Field(default=None, sa_type=LargeBinary)
    failure: str | None = Field(default=None, max_length=16)
