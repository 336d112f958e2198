"""Design points of R geometries made ready to stand against P positions."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Points = TypeVar("Points", bound="DataclassInstance")


def against_positions(points: Points) -> Points:
    """The same points with all of them in rows and an axis for the positions: each (R, 3) or (3,) to (R, 1, 3).

    What is no array stays as it is. Points that are all (3,) become (1, 3).
    """
    named: dict[str, Any] = {field.name: getattr(points, field.name) for field in fields(points)}
    vectors = {name: value for name, value in named.items() if isinstance(value, np.ndarray)}
    shape = np.broadcast_shapes(*(value.shape for value in vectors.values()))
    return replace(points, **{name: np.broadcast_to(value, shape)[..., None, :] for name, value in vectors.items()})
