r"""How deep is one solid surely sunk in another, whatever their shape?

      +--------------+
      |A      d      |      a point p of B inside A, d from A's surface: shifted by less than d it stays inside,
   B~~|~~~~~~~p~~~~~~|~~    so that no shift shorter than d parts the two
      +--------------+

The point asked is that of B's surface nearest to the middle of A, and the other way round: a guess where the most
is to be found. Any point would prove something.
"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Point, frozen, frozen_faces
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity.inside import INSIDE
from packcheck.proximity.nearest import core_distance
from packcheck.proximity.pairs import Body
from packcheck.proximity.patches import Patches
from packcheck.solids.core.solid import Solid

__all__ = ["sunk_at_least"]


def sunk_at_least(a: Body, b: Body, a_from_b: Pose) -> float:
    """A proven lower bound, mm, of the shift that parts two solids; 0 where nothing is proven.

    Their errors are taken off. Nothing is proven of a shape that only encloses the true one.
    """
    if a.solid.encloses or b.solid.encloses:
        return 0.0
    return max(0.0, _inside(a, b, a_from_b), _inside(b, a, a_from_b.inverse()))


def _inside(outer: Body, inner: Body, outer_from_inner: Pose) -> float:
    """How far inside `outer` a point of `inner` lies, less the errors, mm; not above zero when it lies outside."""
    if not outer.solid.closed:
        return 0.0
    point = _nearest(inner.patches, outer_from_inner, (outer.patches.low + outer.patches.high) / 2)
    if abs(outer.far_field.winding(point, INSIDE)) <= INSIDE:
        return 0.0
    found = core_distance(outer.patches, _point(point), IDENTITY)
    assert found is not None
    radii, errors = (getattr(outer.solid, of) + getattr(inner.solid, of) for of in ("radius", "error"))
    return float(found[0] + radii - errors)


def _nearest(patches: Patches, outer_from_inner: Pose, middle: Point) -> Point:
    """The point of a core nearest to `middle` (3,), the outer frame."""
    found = core_distance(_point(middle), patches, outer_from_inner)
    assert found is not None
    return found[2]


def _point(point: Point) -> Patches:
    return Patches(Solid(frozen(point[None]), frozen_faces(np.zeros((1, 3), dtype=np.int64)), closed=False))
