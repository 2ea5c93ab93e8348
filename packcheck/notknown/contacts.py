r"""Where a part rests, and how far off that leaves it when what it rests on is not quite where it should be.

Led down along a, part A meets Z at the height f(Z). f rises when Z grows, and f(Z + h a) = f(Z) + h. If Z is moved
by u against the place of A, with no part of u across a longer than T, then

    step = a.u + r        f(Z shrunk sideways by T) - f(Z)  <=  r  <=  f(Z grown sideways by T) - f(Z)

and to grow or shrink Z sideways is to grow or shrink A. A turn of Z adds to T and r its farthest move between the
point of contact and any other place that A can touch. Growing takes the hull of each solid of A; shrinking its
convex solids, or, where both are convex, the least of f over corners round T, f being concave there. If the
shrunk one is missed, where A rests cannot be said.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from math import cos, pi
from typing import TYPE_CHECKING, Final

import numpy as np

from packcheck.arrays import Points, Vector, corners_of, frozen, frozen_faces
from packcheck.errors import QueryError
from packcheck.notknown.chains import inverse, reduced
from packcheck.notknown.field import Contact, Occurrence, occurrences
from packcheck.notknown.pairing import sizes_of
from packcheck.proximity.contact import first_contact
from packcheck.proximity.separation import Placed
from packcheck.scene.model.scene import Part, Rest
from packcheck.solids.core.solid import Solid

if TYPE_CHECKING:
    from packcheck.notknown.account import Account

__all__ = ["contact_of"]

_CORNERS: Final = 8  # of the polygon that stands for a disc of shifts
_HAIR: Final = 0.001  # mm; a residual smaller than this is the rounding of two contacts


def contact_of(account: Account, name: str) -> Contact:
    """Where a part rests in what it hangs on, and the residual of its contact."""
    part = account.chains.nodes[name]
    assert isinstance(part, Part) and part.rest is not None
    return _Resting(account, part, part.rest).contact()


class _Resting:
    """A part that rests, as drawn, and what may shift or turn what it rests on against it."""

    def __init__(self, account: Account, part: Part, rest: Rest) -> None:
        chains = account.chains
        self._account, self._rest, self._part = account, rest, part
        self._parent = chains.pose(chains.base(part.parent), {})
        self._mover = account.parts[part.name].at(chains.drawn[part.name])
        self._along = rest.sign * self._parent.rotation[:, rest.axis]

    def contact(self) -> Contact:
        point = self._touched(self._rest.on[0])
        try:
            residual = max(self._residual(name, point, name == self._rest.on[0]) for name in self._rest.on)
        except QueryError:
            residual = np.inf
        if residual == np.inf:
            others = " or ".join(self._rest.on)
            return Contact(point, 0.0, f"where {self._part.name} comes to rest on {others} cannot be said")
        return Contact(self._parent.inverse().apply(point), residual if residual > _HAIR else 0.0)

    def _placed(self, name: str) -> Placed:
        return self._account.parts[name].at(self._account.chains.drawn[name])

    def _touched(self, name: str) -> Points:
        """About the middle of where the two may touch, car frame: between their boxes, seen along the way."""
        boxes = [np.array(placed.box()) for placed in (self._mover, self._placed(name))]
        low = np.maximum(boxes[0][0], boxes[1][0])
        high = np.minimum(boxes[0][1], boxes[1][1])
        middle = (low + high) / 2
        height = self._mover.pose.translation @ self._along
        found: Points = middle + (height - middle @ self._along) * self._along
        return found

    def _residual(self, name: str, point: Points, first: bool) -> float:
        sideways, turned = self._shifts(name, point)
        reach = float(
            max(np.linalg.norm(self._across(corner - point)) for corner in corners_of(*self._mover.box()))
        )
        swing = turned * (reach + sideways)
        sideways += swing
        if not first:  # that which it met first may give way to this one
            return self._overtaking(name, sideways)
        if sideways + turned == 0.0:
            return 0.0
        still = self._placed(name)
        here = first_contact(self._mover, still, frozen(self._along))
        if here is None:
            return np.inf
        most, least = self._grown(still, sideways), self._shrunk(still, sideways, here)
        return max(most - here, here - least) + swing

    def _overtaking(self, name: str, sideways: float) -> float:
        """How much farther than that which it met first another may stop the part."""
        step = sum(self._account.total(one) for one in (name, self._rest.on[0], self._part.parent)) + self._own()
        if step == 0.0:
            return 0.0
        here = first_contact(self._mover, self._placed(self._rest.on[0]), frozen(self._along))
        most = self._grown(self._placed(name), sideways)
        return np.inf if here is None else max(0.0, most - here + step)

    def _shifts(self, name: str, point: Points) -> tuple[float, float]:
        """How far what it rests on may be shifted across the way at a point, mm, and turned against it, radians."""
        account, chains = self._account, self._account.chains
        word = reduced([*inverse(chains.base(self._part.parent)), *chains.base(name)])
        found = list(occurrences(chains, word, self._parent, {}, account.contact))
        sideways, turned = self._own(), 0.0
        for one in found:
            shift, turn, arm = self._sizes(one, point)
            sideways, turned = sideways + shift + turn * arm, turned + turn
        surface = account.sources.ball(name)
        counted = any(one.node == name for one in found)
        return sideways + (0.0 if counted else surface), turned

    def _own(self) -> float:
        """How far the part's own place may be off across the way."""
        sources, name = self._account.sources, self._part.name
        box, sizes = sources.box(name), sizes_of(name, sources)
        likely = sizes.shift - (0.0 if box is None else float(np.linalg.norm(box)))
        if box is not None:
            likely += float(np.linalg.norm(np.delete(box, self._rest.axis)))
        return sources.ball(name) + likely

    def _sizes(self, one: Occurrence, point: Points) -> tuple[float, float, float]:
        """Shift across the way, mm, and turn, radians, of one occurrence, and its arm to a point."""
        account = self._account
        arm = float(np.linalg.norm(point - one.pose.translation))
        if one.kind == "rest":
            return 0.0, 0.0, arm
        sizes = sizes_of(
            one.node, account.sources
        )  # a ball takes no point that may be touched farther than it says
        return sizes.shift + account.sources.ball(one.node), sizes.turn, arm

    def _across(self, v: Vector) -> Vector:
        found: Vector = v - (v @ self._along) * self._along
        return found

    def _disc(self, radius: float) -> Points:
        """Corners (n, 3) of a polygon across the way that holds a disc."""
        first = self._across(np.eye(3)[int(np.argmin(np.abs(self._along)))])
        first /= np.linalg.norm(first)
        second = np.cross(self._along, first)
        angles = 2 * pi * np.arange(_CORNERS) / _CORNERS
        found: Points = (
            radius / cos(pi / _CORNERS) * (np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second))
        )
        return found

    def _grown(self, still: Placed, sideways: float) -> float:
        """Where the part would stop were it larger all round, across the way: no later than it ever truly does."""
        shifts = self._disc(sideways) @ self._mover.pose.rotation if sideways else np.zeros((1, 3))
        solids = tuple(
            _hull(solid, (solid.vertices[:, None] + shifts[None]).reshape(-1, 3)) for solid in self._mover.solids
        )
        met = first_contact(replace(self._mover, solids=solids), still, frozen(self._along))
        return -np.inf if met is None else met

    def _shrunk(self, still: Placed, sideways: float, here: float) -> float:
        """Where it stops at the farthest, wherever across the way it is shifted; -inf where it may miss."""
        if sideways == 0.0:
            return here
        found = [met for solids in self._cores(sideways) if (met := self._met(solids, still)) is not None]
        found += list(self._shifted_about(still, sideways))
        return max(found, default=-np.inf)

    def _met(self, solids: tuple[Solid, ...], still: Placed) -> float | None:
        return first_contact(replace(self._mover, solids=solids), still, frozen(self._along))

    def _cores(self, sideways: float) -> Iterator[tuple[Solid, ...]]:
        """The convex solids of the part, each as much smaller across the way."""
        along = self._along @ self._mover.pose.rotation
        for solid in self._mover.solids:
            if solid.convex and (smaller := _eroded(solid, along, sideways)) is not None:
                yield (smaller,)

    def _shifted_about(self, still: Placed, sideways: float) -> Iterator[float]:
        """Of two convex solids where they meet is concave in the shift: least at a corner of all shifts."""
        for own in self._mover.solids:
            for other in still.solids:
                if own.convex and other.convex:
                    there = [self._between(own, other, still, shift) for shift in self._disc(sideways)]
                    if None not in there:
                        yield min(height for height in there if height is not None)

    def _between(self, own: Solid, other: Solid, still: Placed, shift: Vector) -> float | None:
        mover = Placed(self._mover.name, (own,), self._mover.pose.shifted(shift))
        return first_contact(mover, replace(still, solids=(other,)), frozen(self._along))


def _hull(solid: Solid, points: Points) -> Solid:
    """A solid whose core is the hull of points (n, 3); as many triangles as they come to where they are flat."""
    from scipy.spatial import ConvexHull, QhullError

    with suppress(QhullError):
        hull = ConvexHull(points)
        return replace(solid, vertices=frozen(points), faces=frozen_faces(hull.simplices), support=None, draft=None)
    return _flat(solid, points)


def _flat(solid: Solid, points: Points) -> Solid:
    """The core of points that lie in a plane, or on a line: every triangle of them that matters, as a fan."""
    centre = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - centre)
    flat = (points - centre) @ axes[:2].T
    order = np.argsort(np.arctan2(flat[:, 1], flat[:, 0]))
    ring = np.vstack([centre, points[order]])
    count = len(order)
    faces = [[0, k + 1, (k + 1) % count + 1] for k in range(count)]
    return replace(solid, vertices=frozen(ring), faces=frozen_faces(faces), support=None, draft=None)


def _eroded(solid: Solid, along: Vector, by: float) -> Solid | None:
    """The part of a convex core that stays in it wherever it is shifted by up to `by` mm across `along` (3,)."""
    from scipy.optimize import linprog
    from scipy.spatial import ConvexHull, HalfspaceIntersection, QhullError

    with suppress(QhullError):
        planes = np.unique(np.round(ConvexHull(solid.vertices).equations, 9), axis=0)
        across = np.linalg.norm(planes[:, :3] - np.outer(planes[:, :3] @ along, along), axis=1)
        planes[:, 3] += by * across
        inside = linprog(
            [0, 0, 0, -1.0],
            A_ub=np.hstack([planes[:, :3], np.ones((len(planes), 1))]),
            b_ub=-planes[:, 3],
            bounds=[(None, None)] * 3 + [(1e-6, None)],
        )
        if inside.status != 0:
            return None
        corners = HalfspaceIntersection(planes, inside.x[:3]).intersections
        return _hull(solid, corners)
    return None
