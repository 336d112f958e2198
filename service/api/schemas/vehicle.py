"""Vehicles, and what they weigh."""

from pydantic import Field

from service.api.schemas.values import Line, Notes, ReadBack, Reading, Slug, Status, Strict


class VehicleMasses(Strict):
    """Kerb masses as weighed without occupants, and the maker's ratings; what is not known may be left out."""

    wheelbase_mm: Reading | None = None
    front_axle_kg: Reading | None = None
    rear_axle_kg: Reading | None = None
    front_axle_rating_kg: Reading | None = None
    rear_axle_rating_kg: Reading | None = None
    gross_rating_kg: Reading | None = None


class Vehicle(ReadBack):
    """A vehicle as sold: one for each combination of body, drive and suspension that differs."""

    vehicle_id: Slug | None = Field(
        default=None, description="Required of a new vehicle; on a change it may be left out."
    )
    name: Line
    maker: Line | None = None
    model: Line | None = None
    years: Line | None = Field(default=None, description="In words, such as `2011 to 2019`.")
    vehicle_masses: VehicleMasses = VehicleMasses()
    notes: Notes | None = None
    status: Status = "active"
