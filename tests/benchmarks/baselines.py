"""The same gaps the plain way: the distance engine on whole meshes, one tree each, one query for two solids.

A lower bound of the work, not an equal: no containment, no depth of overlaps, no bounds, no doubt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import fcl
import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.frames import Pose
from packcheck.solids.core.solid import Solid

__all__ = ["Standing", "bare_distance", "box_filtered", "built", "distances", "standing"]


@dataclass(frozen=True, slots=True)
class Standing:
    """One solid in the engine's terms, with the radius to be taken off its distances, mm."""

    thing: fcl.CollisionObject
    radius: float


def built(assembly: Assembly) -> list[list[Standing]]:
    """Every part's solids, in scene order, each with one tree over all its triangles."""
    return [[standing(solid, part.pose) for solid in part.solids] for part in assembly.parts.values()]


def standing(solid: Solid, pose: Pose) -> Standing:
    """A solid in the engine's terms, one tree over all its triangles."""
    model = fcl.BVHModel()
    model.beginModel(len(solid.vertices), len(solid.faces))
    model.addSubModel(solid.vertices, solid.faces)
    model.endModel()
    return Standing(fcl.CollisionObject(model, fcl.Transform(pose.rotation, pose.translation)), solid.radius)


def box_filtered(assembly: Assembly) -> list[tuple[int, int]]:
    """Pairs of parts, by number, whose boxes lie within the pair's own limit, counted one by one."""
    names = list(assembly.parts)
    low, high = assembly.boxes[:, 0], assembly.boxes[:, 1]
    found = []
    for k, name in enumerate(names):
        apart = np.linalg.norm(np.maximum(np.maximum(low[:k] - high[k], low[k] - high[:k]), 0), axis=1)
        found += [(j, k) for j in range(k) if apart[j] <= assembly.rules.limit(names[j], name).reach]
    return found


def distances(parts: Sequence[Sequence[Standing]], pairs: Sequence[tuple[int, int]]) -> list[float]:
    """The distance of each pair, mm: of its nearest solids, less their radii."""
    return [min(bare_distance(a, b) for a in parts[j] for b in parts[k]) for j, k in pairs]


def bare_distance(a: Standing, b: Standing) -> float:
    """The distance of two solids, mm, less their radii."""
    request, result = fcl.DistanceRequest(enable_nearest_points=True), fcl.DistanceResult()
    distance: float = fcl.distance(a.thing, b.thing, request, result)
    return distance - a.radius - b.radius
