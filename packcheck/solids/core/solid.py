"""A solid in its own frame, as the proximity kernel sees it.

Every solid is a core of triangles, a ball radius around the core, and an error:

    core triangles   a box, a mesh, the facets of a cylinder; degenerate for a point, segment or polyline
    radius           mm; a sphere is a point plus a radius, a hose a polyline plus a radius, `wrap` adds to it
    error            mm; the true core surface is within this of the triangles, either way (Hausdorff)

so that one exact mesh-to-mesh query answers for every kind.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.frames import Pose

__all__ = ["POINT", "Solid", "Support"]

Support: TypeAlias = Callable[[Points], Points]
"""Farthest points (n, 3) of a convex core along directions (n, 3), own frame, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A core of triangles, a ball radius around it, and how far the triangles may be off.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        The core. Faces wind outward when `closed`; [i, i, i] is a point, [i, j, j] a segment.
    radius : float
        Ball swept over the core, mm.
    error : float
        Largest distance between the true core surface and the triangles, either way, mm.
    closed : bool
        The triangles bound a volume. False for points, segments, polylines and open surfaces.
    open_surface : bool
        An open surface whose thickness or side is not known: it has no inside, and what it winds round is unsure.
    support : callable or None
        Support points of the *true* core when it is convex, else None.
    pieces : (k, 3)
        One vertex of every connected piece of the core.
    encloses : bool
        The true shape lies inside this one (rounded pipe ends): gaps are at least what is measured.
    whole : Solid or None
        What this was before its triangles were made fewer: it decides what is inside, and how far it reaches.
    draft : Solid or None
        The same solid with fewer triangles and a larger `error`, for searches that ask hundreds of times.
    """

    vertices: Points
    faces: Faces
    radius: float = 0.0
    error: float = 0.0
    closed: bool = True
    open_surface: bool = False
    support: Support | None = None
    pieces: Points | None = None
    encloses: bool = False
    draft: Solid | None = None
    whole: Solid | None = None

    @property
    def convex(self) -> bool:
        return self.support is not None

    def wrapped(self, thickness: float) -> Solid:
        """The solid grown by a ball of `thickness` mm; a bore shrinks."""
        if not thickness:
            return self
        draft = None if self.draft is None else self.draft.wrapped(thickness)
        return replace(self, radius=self.radius + thickness, draft=draft)

    def mirrored(self, axis: int) -> Solid:
        """The same solid reflected in the plane through its zero square to an axis (0, 1, 2)."""
        flip = np.ones(3)
        flip[axis] = -1.0
        support = self.support
        return replace(
            self,
            vertices=frozen(self.vertices * flip),
            faces=frozen_faces(self.faces[:, ::-1]),
            support=None if support is None else lambda directions: support(directions * flip) * flip,
            pieces=None if self.pieces is None else frozen(self.pieces * flip),
            draft=None if self.draft is None else self.draft.mirrored(axis),
        )

    def placed(self, pose: Pose) -> Solid:
        """The same solid carried by `pose` into an outer frame (used once, when a part is made up)."""
        return replace(
            self,
            vertices=frozen(pose.apply(self.vertices)),
            support=_carried(self.support, pose),
            pieces=None if self.pieces is None else frozen(pose.apply(self.pieces)),
            draft=None if self.draft is None else self.draft.placed(pose),
            whole=None if self.whole is None else self.whole.placed(pose),
        )


def _carried(support: Support | None, pose: Pose) -> Support | None:
    if support is None:
        return None
    return lambda directions: pose.apply(support(directions @ pose.rotation))


POINT: Final = Solid(frozen(np.zeros((1, 3))), frozen_faces([[0, 0, 0]]), closed=False)
"""A point, which is all there is."""
