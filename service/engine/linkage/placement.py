"""Where a rigid body of the linkage has got to, against its design position."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.linkage.vectors import Mask, Vectors, cross, dot, unit

EYE = np.eye(3)


@dataclass(frozen=True, slots=True)
class Placement:
    """A body of R geometries in P positions.

    ``rotation`` (R, P, 3, 3) from the design position; ``design_origin`` (R, 1, 3), or (R, P, 3), a point of the body
    in the design position, mm; ``origin`` (R, P, 3) the same point now, mm.
    """

    rotation: Vectors
    design_origin: Vectors
    origin: Vectors

    def of_point(self, design_point: Vectors) -> Vectors:
        """Where the body carries a point: ``design_point`` (R, 3) or (3,), mm, to (R, P, 3)."""
        arm = design_point[..., None, :] - self.design_origin
        return np.asarray(self.origin + np.matvec(self.rotation, arm))

    def of_direction(self, design_direction: Vectors) -> Vectors:
        """Where the body turns a direction: ``design_direction`` (R, 3) or (3,) to (R, P, 3)."""
        return np.asarray(np.matvec(self.rotation, design_direction[..., None, :]))

    def where(self, reachable: Mask) -> Placement:
        """The same, and not-a-number where not ``reachable`` (R, P)."""
        return Placement(
            np.where(reachable[..., None, None], self.rotation, np.nan),
            self.design_origin,
            np.where(reachable[..., None], self.origin, np.nan),
        )


def rotation_about(axis: Vectors, angle_rad: Vectors) -> Vectors:
    """Rotation matrix (..., 3, 3) by ``angle_rad`` (...), right-handed, about the unit vector ``axis`` (..., 3).

    Source: Rodrigues' rotation formula, R = a a^T + cos t (I - a a^T) + sin t [a]x.

    >>> quarter = rotation_about(np.array([1.0, 0.0, 0.0]), np.array(np.pi / 2))
    >>> (quarter @ np.array([0.0, 1.0, 0.0])).round(12).tolist()
    [0.0, 0.0, 1.0]
    """
    cosine, sine = np.cos(angle_rad)[..., None, None], np.sin(angle_rad)[..., None, None]
    # [a]x v = a x v, so its columns are a crossed with the columns of the unit matrix.
    crossing = np.swapaxes(cross(axis[..., None, :], EYE), -1, -2)
    along = axis[..., :, None] * axis[..., None, :]
    return np.asarray(along + cosine * (EYE - along) + sine * crossing)


def least_rotation(before: Vectors, after: Vectors) -> Vectors:
    """The rotation (..., 3, 3) that takes the unit vector ``before`` to ``after`` (..., 3) with no spin about either.

    Not-a-number where they are opposite. Source: Rodrigues' formula with a = before x after / sin t.

    >>> turned = least_rotation(np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.6, 0.8]))
    >>> (turned @ np.array([1.0, 1.0, 0.0])).round(12).tolist()
    [1.0, 0.6, 0.8]
    """
    normal, cosine = cross(before, after), dot(before, after)
    crossing = np.swapaxes(cross(normal[..., None, :], EYE), -1, -2)
    scaled = normal / (1.0 + cosine)[..., None]
    return np.asarray(cosine[..., None, None] * EYE + crossing + scaled[..., :, None] * normal[..., None, :])


def _triad(first: Vectors, second: Vectors, third: Vectors) -> Vectors:
    """Three unit vectors at right angles, as rows (..., 3, 3), fixed to the triangle of three points."""
    along = unit(second - first)
    aside = third - first
    across = unit(aside - dot(aside, along)[..., None] * along)
    return np.stack([along, across, cross(along, across)], axis=-2)


Triangle = tuple[Vectors, Vectors, Vectors]


def placement_of(design: Triangle, moved: Triangle) -> Placement:
    """Placement of the body to which three points belong, from where they were and where they are, mm.

    Shapes: any that broadcast to (R, P, 3). The two triangles are congruent; not-a-number if a triangle is flat.

    >>> at_design = np.zeros((1, 3)), np.array([[0.0, 0.0, 1.0]]), np.array([[0.0, 1.0, 0.0]])
    >>> lifted = tuple(point + np.array([0.0, 0.0, 5.0]) for point in at_design)
    >>> placement_of(at_design, lifted).of_point(np.array([7.0, 8.0, 9.0])).tolist()
    [[7.0, 8.0, 14.0]]
    """
    rotation = np.swapaxes(_triad(*moved), -1, -2) @ _triad(*design)
    return Placement(rotation, design[0], moved[0])
