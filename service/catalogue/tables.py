"""The catalogue's tables. Each thing has a head row, which says what holds now, and revision rows, which never change.

A body is canonical JSON in a text column: it is read whole, and only the columns of a head are searched.
"""

from sqlalchemy import BigInteger, CheckConstraint, ForeignKeyConstraint, Text
from sqlmodel import Field

from service.database import Row

NAME_LENGTH = 64
TIME_LENGTH = 20


class Vehicle(Row, table=True):
    __tablename__ = "vehicle"

    vehicle_id: str = Field(primary_key=True, max_length=NAME_LENGTH)
    revision: int
    status: str = Field(max_length=16)
    created_at: str = Field(max_length=TIME_LENGTH)


class VehicleRevision(Row, table=True):
    __tablename__ = "vehicle_revision"

    vehicle_id: str = Field(primary_key=True, max_length=NAME_LENGTH, foreign_key="vehicle.vehicle_id")
    revision: int = Field(primary_key=True)
    revised_at: str = Field(max_length=TIME_LENGTH)
    body: str = Field(sa_type=Text)


class Axle(Row, table=True):
    __tablename__ = "axle"

    vehicle_id: str = Field(primary_key=True, max_length=NAME_LENGTH, foreign_key="vehicle.vehicle_id")
    end: str = Field(primary_key=True, max_length=8)
    revision: int
    status: str = Field(max_length=16)
    created_at: str = Field(max_length=TIME_LENGTH)


class AxleRevision(Row, table=True):
    __tablename__ = "axle_revision"
    __table_args__ = (ForeignKeyConstraint(["vehicle_id", "end"], ["axle.vehicle_id", "axle.end"]),)

    vehicle_id: str = Field(primary_key=True, max_length=NAME_LENGTH)
    end: str = Field(primary_key=True, max_length=8)
    revision: int = Field(primary_key=True)
    revised_at: str = Field(max_length=TIME_LENGTH)
    body: str = Field(sa_type=Text)


class Part(Row, table=True):
    __tablename__ = "part"

    sku: str = Field(primary_key=True, max_length=NAME_LENGTH)
    revision: int
    status: str = Field(max_length=16)
    created_at: str = Field(max_length=TIME_LENGTH)
    kind: str = Field(max_length=32, index=True)
    supplier: str = Field(max_length=200, index=True)
    name: str = Field(max_length=200)


class PartRevision(Row, table=True):
    __tablename__ = "part_revision"

    sku: str = Field(primary_key=True, max_length=NAME_LENGTH, foreign_key="part.sku")
    revision: int = Field(primary_key=True)
    revised_at: str = Field(max_length=TIME_LENGTH)
    body: str = Field(sa_type=Text)


class PartFits(Row, table=True):
    """An axle, or a vehicle, that a part in force is sold for; no name stands for any of them."""

    __tablename__ = "part_fits"

    sku: str = Field(primary_key=True, max_length=NAME_LENGTH, foreign_key="part.sku")
    axle_name: str = Field(primary_key=True, max_length=NAME_LENGTH + 8, index=True)


class CatalogueState(Row, table=True):
    """One row, whose counter the database's own triggers move with every change of a head."""

    __tablename__ = "catalogue_state"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    changes: int = Field(sa_type=BigInteger)
