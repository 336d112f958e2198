"""Verdicts on parts alone on the factory axle, worked out before anybody asks."""

from sqlalchemy import Text
from sqlmodel import Field

from service.catalogue.tables import NAME_LENGTH
from service.database import Row


class ShelfVerdict(Row, table=True):
    """``basis`` names everything that it rests on: it holds as long as that is in force.

    No ``verdict`` where the engine refuses the build: ``because`` then says why, and it is to stop.
    """

    __tablename__ = "shelf_verdict"

    vehicle_id: str = Field(primary_key=True, max_length=NAME_LENGTH)
    end: str = Field(primary_key=True, max_length=8)
    sku: str = Field(primary_key=True, max_length=NAME_LENGTH)
    basis: str = Field(sa_type=Text)
    verdict: str | None = Field(default=None, max_length=16)
    check_name: str | None = Field(default=None, max_length=32)
    because: str = Field(sa_type=Text)
    lift_mm: float | None = None
    lift_plus_minus_mm: float | None = None
