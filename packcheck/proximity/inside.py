"""Is a point inside a closed surface? By generalized winding number, which overlapping pieces do not confuse.

Far patches of the surface count by their area vector alone, as a far charge counts by its total. What that leaves
out is bounded: for a patch of area A within rho of its middle, R away, the solid angle is off by no more than
3 A rho^2 / (R - rho)^4: the third derivatives of 1/r, as a form, are largest along r itself, where they are 6 / r^4
(a symmetric form takes its norm on the diagonal, by a theorem of Banach's). Where the sum of those bounds
leaves the answer open, every triangle is counted.

Source of the idea: Barill et al., "Fast winding numbers for soups and clouds", ACM Trans. Graph. 37 (2018); the
bound is ours.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Point, Points
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.winding import winding_numbers
from packcheck.tolerances import PATCH_FACES

__all__ = ["INSIDE", "WINDS_ROUND", "FarField"]

INSIDE = 0.5
"""A closed surface winds once or more round a point inside it, and not at all round one outside."""

WINDS_ROUND = 0.25
"""An open surface that winds this far round a point may well be meant to hold it."""

_FAR = 5.0  # a patch counts as far from this many of its radii


class FarField:
    """The triangles of a surface, patch by patch, and what each patch looks like from afar."""

    def __init__(self, solid: Solid) -> None:
        corners = solid.vertices[solid.faces]
        self._triangles = [corners[start : start + PATCH_FACES] for start in range(0, len(corners), PATCH_FACES)]
        vectors = [np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]) / 2 for t in self._triangles]
        areas = [np.linalg.norm(vector, axis=1) for vector in vectors]
        self._vectors = np.array([vector.sum(axis=0) for vector in vectors])
        self._areas = np.array([area.sum() for area in areas])
        self._middles = np.array([_middle(t, area) for t, area in zip(self._triangles, areas, strict=True)])
        spans = zip(self._triangles, self._middles, strict=True)
        self._radii = np.array([np.linalg.norm(t - middle, axis=2).max() for t, middle in spans])

    def winding(self, point: Point, threshold: float) -> float:
        """How often the surface winds round `point` (3,): surely on the right side of `threshold`."""
        arms = self._middles - point
        distances = np.linalg.norm(arms, axis=1)
        far = distances > _FAR * self._radii
        near = self._counted(point, ~far)
        arms, distances, radii = arms[far], distances[far], self._radii[far]
        seen = np.einsum("ij,ij->i", self._vectors[far], arms) / distances**3
        left_out = 3 * self._areas[far] * radii**2 / (distances - radii) ** 4
        total, doubt = near + seen.sum() / (4 * np.pi), left_out.sum() / (4 * np.pi)
        if abs(abs(total) - threshold) > doubt:
            return float(total)
        return near + self._counted(point, far)

    def _counted(self, point: Point, patches: npt.NDArray[np.bool_]) -> float:
        """The winding of some patches, triangle by triangle."""
        chosen = [self._triangles[k] for k in np.flatnonzero(patches)]
        if not chosen:
            return 0.0
        corners = np.concatenate(chosen).reshape(-1, 3)
        faces = np.arange(len(corners)).reshape(-1, 3)
        return float(winding_numbers(point[None], corners, faces)[0])


def _middle(triangles: Points, areas: Floats) -> Point:
    """The middle of the surface, triangles weighted by area: the first-order term of the far field is then nil."""
    total = areas.sum()
    centres = triangles.mean(axis=1)
    middle: Point = centres.mean(axis=0) if total == 0 else areas @ centres / total
    return middle
