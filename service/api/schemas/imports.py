"""What became of an import."""

from typing import Annotated

from pydantic import Field

from service.api.schemas.problem import Fault
from service.api.schemas.values import Strict

Count = Annotated[int, Field(ge=0)]


class ImportReport(Strict):
    """Counts of rows. After a dry run they say what would have been done, and ``errors`` what stands in its way."""

    dry_run: bool
    imported: bool = Field(description="Whether the catalogue now holds what was sent.")
    rows: Count
    created: Count
    revised: Count
    unchanged: Count = Field(description="What the catalogue held already; it gets no new revision.")
    errors: list[Fault]
