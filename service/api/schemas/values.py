"""The values that every body is made of: names, numbers, readings."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, StringConstraints, Tag
from pydantic.config import JsonDict

GREATEST = 1_000_000.0
"""Beyond this no number about a vehicle is meant, in any unit of this service (common practice)."""

NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
FITS_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}(/(front|rear))?$"
TIME_PATTERN = r"^\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)$"
NO_CONTROL_SIGNS = r"^[^\u0000-\u001f\u007f]*$"
NO_CONTROL_SIGNS_BUT_LINES = r"^[^\u0000-\u0008\u000b-\u001f\u007f]*$"

Slug = Annotated[str, StringConstraints(pattern=NAME_PATTERN)]
Sku = Annotated[str, StringConstraints(pattern=NAME_PATTERN)]
Line = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=NO_CONTROL_SIGNS)]
Notes = Annotated[str, StringConstraints(max_length=2000, pattern=NO_CONTROL_SIGNS_BUT_LINES)]

End = Literal["front", "rear"]
Duty = Literal["sealed_road", "unsealed_touring", "rock_and_articulation"]
Status = Literal["active", "withdrawn"]
VerdictWord = Literal["clear", "marginal", "undetermined", "unsafe"]
Action = Literal["sell", "refer", "stop"]


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


GREATEST_EXACT = 2**53
"""Up to here each whole number has a floating-point number of its own (RFC 8259, section 6)."""


def _whole(value: Any) -> Any:
    exact = isinstance(value, float) and value.is_integer() and abs(value) <= GREATEST_EXACT
    return int(value) if exact else value


WHOLE = BeforeValidator(_whole)
"""A whole number, however it is written: to JSON Schema 1.0 is an integer (draft 2020-12, validation, 6.1.1). It stands
behind the number's limits, so that they remain those of an integer.
"""

Time = Annotated[str, Field(json_schema_extra={"format": "date-time"})]
RevisionNumber = Annotated[int, Field(ge=1), WHOLE]
READ_ONLY: JsonDict = {"readOnly": True}


class ReadBack(Strict):
    """What reading adds to a body: it may come back with the body, and is ignored there."""

    revision: RevisionNumber | None = Field(default=None, exclude=True, json_schema_extra=READ_ONLY)
    created_at: Time | None = Field(default=None, exclude=True, json_schema_extra=READ_ONLY)
    revised_at: Time | None = Field(default=None, exclude=True, json_schema_extra=READ_ONLY)


Number = Annotated[float, Field(ge=-GREATEST, le=GREATEST)]


class Measured(Strict):
    """A value and the half-width of the interval that surely holds the true one, in the unit of the field's name."""

    value: Number
    plus_minus: Annotated[float, Field(ge=0, le=GREATEST)]


def _form(value: Any) -> str:
    return "#measured" if isinstance(value, dict | Measured) else "#number"


Reading = Annotated[
    Annotated[Number, Tag("#number")] | Annotated[Measured, Tag("#measured")],
    Discriminator(_form),
    Field(
        description="A number, or a value with its half-width. A plain number takes the policy's default half-width."
    ),
]
Quantity = Annotated[int, Field(ge=1, le=20), WHOLE]

Point = Annotated[
    list[Reading], Field(min_length=3, max_length=3, description="x, y and z; of a direction, its components.")
]
