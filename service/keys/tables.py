"""The table of keys."""

from sqlmodel import Field

from service.database import Row


class ApiKey(Row, table=True):
    """``secret_hash`` is all that is kept of the secret. ``scopes`` are words with blanks between them."""

    __tablename__ = "api_key"

    key_id: str = Field(primary_key=True, max_length=12)
    name: str = Field(max_length=200)
    scopes: str = Field(max_length=64)
    secret_hash: str = Field(max_length=64)
    created_at: str = Field(max_length=20)
    expires_at: str | None = Field(default=None, max_length=20)
    revoked_at: str | None = Field(default=None, max_length=20)
    last_used_at: str | None = Field(default=None, max_length=20)
