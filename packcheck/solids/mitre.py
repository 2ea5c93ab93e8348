"""Round bars with sharp corners: straight legs cut and joined on the plane that halves each corner.

          tip
 ________/          The tip of a mitre stands out from the corner by r / cos(half the turn), where a ball
|  leg  /           swept along the line would reach r only.
|______/|
       ||
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import pi

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector, frozen, frozen_faces
from packcheck.solids.core.solid import Solid
from packcheck.solids.lathe import band_faces, disc_faces, facet_count, facet_overshoot
from packcheck.tolerances import DRAFT_ERROR, FACET_ERROR

__all__ = ["mitred_legs", "sharpest"]


def mitred_legs(radius: float, through: Points, across: Callable[[Vector], Floats]) -> tuple[Solid, ...] | None:
    """The legs of a bar of `radius` through points (n, 3), all mm; None where a leg is too short for its mitres.

    `across` gives a rotation (3, 3) whose z column is a unit vector.
    """
    steps = np.diff(through, axis=0)
    along = steps / np.linalg.norm(steps, axis=1)[:, None]
    halving = along[:-1] + along[1:]
    normals = np.vstack([along[:1], halving / np.linalg.norm(halving, axis=1)[:, None], along[-1:]])
    legs = []
    for k, (start, end) in enumerate(pairwise(through)):
        frame = across(along[k])
        leg = _leg(radius, frame, (start, normals[k]), (end, normals[k + 1]), FACET_ERROR)
        if leg is None:
            return None
        legs.append(
            replace(leg, draft=_leg(radius, frame, (start, normals[k]), (end, normals[k + 1]), DRAFT_ERROR))
        )
    return tuple(legs)


def sharpest(through: Points) -> float:
    """Cosine of half the sharpest turn of a polyline (n, 3)."""
    steps = np.diff(through, axis=0)
    along = steps / np.linalg.norm(steps, axis=1)[:, None]
    turns = np.einsum("ij,ij->i", along[:-1], along[1:])
    return float(np.sqrt(np.clip((1 + turns.min(initial=1.0)) / 2, 0.0, 1.0)))


def _leg(
    radius: float, frame: Floats, start: tuple[Point, Vector], end: tuple[Point, Vector], error: float
) -> Solid | None:
    """One leg between two planes, each a point on the line and a normal."""
    along = frame[:, 2]
    count = facet_count(radius, error)
    angles = np.arange(count) * (2 * pi / count)
    reach = radius * (1 + facet_overshoot(count))
    round_it = reach * (np.cos(angles)[:, None] * frame[:, 0] + np.sin(angles)[:, None] * frame[:, 1])
    low, high = _cut(round_it, along, *start), _cut(round_it, along, *end)
    if ((high - low) @ along).min() <= 0:
        return None
    faces = np.vstack(
        [band_faces(0, count, count, count, count), disc_faces(0, count)[:, ::-1], disc_faces(count, count)]
    )
    steepest = min(abs(float(along @ normal)) for _, normal in (start, end))
    return Solid(
        frozen(np.vstack([low, high])),
        frozen_faces(faces),
        error=radius * facet_overshoot(count) / steepest,
        pieces=frozen(low[:1]),
    )


def _cut(round_it: Points, along: Vector, point: Point, normal: Vector) -> Points:
    """Where lines along `along`, off the axis by `round_it` (n, 3), meet the plane through `point`."""
    reach = -(round_it @ normal) / float(along @ normal)
    corners: Points = point + round_it + reach[:, None] * along
    return corners
