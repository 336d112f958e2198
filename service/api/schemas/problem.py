"""The one shape of an error answer."""

from pydantic import BaseModel, Field


class Fault(BaseModel):
    """One thing that is wrong: in the body (``pointer``) or in the query (``parameter``)."""

    pointer: str | None = Field(default=None, description="RFC 6901 pointer into the request body.")
    parameter: str | None = Field(default=None, description="Name of a query parameter or header.")
    detail: str


class Problem(BaseModel):
    """A problem by RFC 9457. ``type`` is a page of this service that says what to do about it."""

    type: str
    title: str
    status: int
    detail: str
    instance: str
    errors: list[Fault] | None = None
