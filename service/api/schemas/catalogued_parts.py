"""The kinds of part as the catalogue keeps them: with a SKU, a name, and the axles that they are sold for."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from service.api.schemas import parts
from service.api.schemas.values import FITS_PATTERN, Line, Quantity, ReadBack, Sku, Status, Strict

AxleName = Annotated[
    str,
    StringConstraints(pattern=FITS_PATTERN),
    Field(description="A vehicle, or one end of it: `hill-runner` or `hill-runner/front`."),
]
SEARCHED = ("kind", "supplier", "name")
"""The fields that listings of parts are narrowed down by."""


class Catalogued(ReadBack):
    sku: Sku | None = Field(default=None, description="Required of a new part; on a change it may be left out.")
    name: Line
    supplier: Line
    status: Status = "active"
    fits: Annotated[list[AxleName], Field(max_length=1000)] = Field(
        default_factory=list, description="The axles that the part is sold for; empty for any."
    )


class CataloguedCoilSpring(Catalogued, parts.CoilSpring):
    pass


class CataloguedStrut(Catalogued, parts.Strut):
    pass


class CataloguedDamper(Catalogued, parts.Damper):
    pass


class CataloguedStrutTopSpacer(Catalogued, parts.StrutTopSpacer):
    pass


class CataloguedSpringSpacer(Catalogued, parts.SpringSpacer):
    pass


class CataloguedBumpStop(Catalogued, parts.BumpStop):
    pass


class CataloguedBumpStopSpacer(Catalogued, parts.BumpStopSpacer):
    pass


class CataloguedUpperArm(Catalogued, parts.UpperArm):
    pass


class CataloguedDifferentialSpacer(Catalogued, parts.DifferentialSpacer):
    pass


class CataloguedLimitStrap(Catalogued, parts.LimitStrap):
    pass


class CataloguedBrakeHose(Catalogued, parts.BrakeHose):
    pass


class CataloguedAccessory(Catalogued, parts.Accessory):
    pass


class CataloguedTorsionBar(Catalogued, parts.TorsionBar):
    pass


class CataloguedLeafPack(Catalogued, parts.LeafPack):
    pass


class CataloguedLeafBlock(Catalogued, parts.LeafBlock):
    pass


class CataloguedShackle(Catalogued, parts.Shackle):
    pass


class CataloguedTyre(Catalogued, parts.Tyre):
    pass


class KitEntry(Strict):
    """A part of the kit, and how many of it go on one wheel."""

    sku: Sku
    quantity: Quantity = 1


class CataloguedKit(Catalogued):
    """Several parts of the catalogue that are sold together under one SKU."""

    kind: Literal["kit"]
    parts: Annotated[list[KitEntry], Field(min_length=1, max_length=30)]


CataloguedKind = Literal[parts.Kind, "kit"]
CataloguedPart = Annotated[
    CataloguedCoilSpring
    | CataloguedStrut
    | CataloguedDamper
    | CataloguedStrutTopSpacer
    | CataloguedSpringSpacer
    | CataloguedBumpStop
    | CataloguedBumpStopSpacer
    | CataloguedUpperArm
    | CataloguedDifferentialSpacer
    | CataloguedLimitStrap
    | CataloguedBrakeHose
    | CataloguedAccessory
    | CataloguedTorsionBar
    | CataloguedLeafPack
    | CataloguedLeafBlock
    | CataloguedShackle
    | CataloguedTyre
    | CataloguedKit,
    Field(discriminator="kind"),
]
