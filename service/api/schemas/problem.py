"""The one shape of an error answer."""

from pydantic import BaseModel, Field


class Fault(BaseModel):
    """One thing that is wrong: in the body (``pointer``), in the query (``parameter``), or in a row of an import."""

    file: str | None = Field(default=None, description="The file of an import.")
    line: int | None = Field(default=None, description="Where in the file the row begins, counted from 1.")
    column: str | None = Field(default=None, description="The column of a CSV file, or the field of a JSON line.")
    pointer: str | None = Field(
        default=None,
        description="RFC 6901 pointer into the request body, or into the body that a row of an import stands for.",
    )
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
