"""From where a finding can be seen: square to its gap where it has a direction, and with little in between.

Rays go out from the middle of the gap to every place the eye could be. What they meet is in the way.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Point, Points, Vector
from packcheck.findings import Finding
from packcheck.report.pictures.view import facing, way
from packcheck.surfaces import Model, Surface

__all__ = ["Eye", "Onlooker"]

STEPS: Final = 16  # places for the eye round the gap
OWN_PARTS: Final = 4.0  # how much worse it is when a part of the pair hides its own gap than when another part does
LIKING: Final = 0.4  # how much the liked side counts: less than half of a part in the way
FROM_BELOW: Final = 1.5
START: Final = 0.5  # mm; rays start this far out, clear of the surfaces the gap ends on


@dataclass(frozen=True, slots=True, eq=False)
class Eye:
    """Where to look from: unit vectors `toward` the eye and `upright` in the picture; what is `hiding` the spot."""

    toward: Vector
    upright: Vector
    hiding: tuple[str, ...] = ()


@dataclass(slots=True)
class Onlooker:
    """Finds the eye for findings of one bay. The parts' boxes and corners are kept between findings."""

    model: Model
    _boxes: Floats = field(init=False)
    _up: Vector = field(init=False)
    _liked: Vector = field(init=False)

    def __post_init__(self) -> None:
        ends = [(s.vertices.min(axis=0), s.vertices.max(axis=0)) for s in self.model.surfaces]
        self._boxes = np.array(ends).reshape(-1, 2, 3)
        self._up = way(self.model.axes, "up")
        liked = self._up * 0.6 + way(self.model.axes, "left") * 0.5 + way(self.model.axes, "aft") * 0.62
        self._liked = liked / np.linalg.norm(liked)

    def eye(self, finding: Finding) -> Eye:
        """The best place to see a finding's witness points from; they are there."""
        assert finding.points is not None
        middle: Point = finding.points.mean(axis=0)
        ways = self._ways(finding.direction)
        blocked = self._blocked(middle, ways)
        own = np.array([surface.name in finding.subjects for surface in self.model.surfaces])
        cost = blocked[:, own].sum(axis=1) * OWN_PARTS + blocked[:, ~own].sum(axis=1)
        cost = cost - LIKING * (ways @ self._liked) + FROM_BELOW * (ways @ self._up < -0.2)
        best = int(np.argmin(np.round(cost, 9)))
        hiding = [
            s.name for s, hit, mine in zip(self.model.surfaces, blocked[best], own, strict=True) if hit and not mine
        ]
        return Eye(ways[best], self.upright(ways[best]), tuple(hiding))

    def upright(self, toward: Vector) -> Vector:
        """What points up in a picture seen from `toward`: up itself, or the front where one looks down or up."""
        upright: Vector = facing(toward, self._up, way(self.model.axes, "fore"))[1]
        return upright

    @property
    def liked(self) -> Vector:
        """Where one stands to see the whole bay: left of it, aft and above."""
        return self._liked

    def _ways(self, direction: Vector | None) -> Points:
        """Places for the eye: a ring square to the gap, or a dome where the gap has no direction."""
        angles = np.arange(STEPS) * (2 * np.pi / STEPS)
        axis = self._up if direction is None else direction
        first = self._liked - axis * float(self._liked @ axis)
        if float(np.linalg.norm(first)) < 0.05:
            first = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
        first = first / np.linalg.norm(first)
        ring: Points = np.outer(np.cos(angles), first) + np.outer(np.sin(angles), np.cross(axis, first))
        return ring if direction is not None else (ring + self._up * 0.7) / np.hypot(1.0, 0.7)

    def _blocked(self, middle: Point, ways: Points) -> Floats:
        """Which rays (k, parts) from `middle` along `ways` meet which part: 1 or 0."""
        blocked = np.zeros((len(ways), len(self.model.surfaces)))
        for part, surface in enumerate(self.model.surfaces):
            rays = np.flatnonzero(_meets_box(middle, ways, self._boxes[part]))
            if len(rays):
                blocked[rays, part] = _meets_surface(middle, ways[rays], surface)
        return blocked


def _meets_box(start: Point, ways: Points, box: Points) -> Floats:
    """Which rays (k,) meet a box (2, 3)."""
    safe = np.where(np.abs(ways) < 1e-12, 1e-12, ways)
    times = (box[:, None] - start) / safe
    enters, leaves = times.min(axis=0).max(axis=1), times.max(axis=0).min(axis=1)
    met: Floats = (leaves >= enters) & (leaves > START)
    return met


def _meets_surface(start: Point, ways: Points, surface: Surface) -> list[bool]:
    corners = _corners(surface.vertices - start, surface.faces)
    return [_meets(corners, along) for along in ways]


def _corners(vertices: Points, faces: Faces) -> tuple[Points, Points, Points]:
    a, b, c = vertices[faces].transpose(1, 0, 2)
    return a, b - a, c - a


def _meets(corners: tuple[Points, Points, Points], along: Vector) -> bool:
    """Whether a ray from zero meets a triangle beyond START (Moeller and Trumbore, 1997, from memory)."""
    a, u, v = corners
    across = np.cross(along, v)
    size = np.einsum("ij,ij->i", u, across)
    safe = np.where(np.abs(size) < 1e-12, np.inf, size)
    share_u = -np.einsum("ij,ij->i", a, across) / safe
    turned = np.cross(-a, u)
    share_v = turned @ along / safe
    distance = np.einsum("ij,ij->i", v, turned) / safe
    hit = (share_u >= 0) & (share_v >= 0) & (share_u + share_v <= 1) & (distance > START)
    return bool(hit.any())
