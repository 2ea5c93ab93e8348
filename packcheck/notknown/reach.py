"""How far does a place reach? All that it bears, what lines in it move, and the circles round those lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.notknown.chains import Chains
from packcheck.scene.model.scene import CAR

__all__ = ["bears", "radius_of", "reach_radius"]


def radius_of(chains: Chains, points: Mapping[str, Points], node: str) -> float:
    """What limits the turn of a place: how far its reach extends across any axis, mm.

    `points` (n, 3) hold each part as drawn, car frame.
    """
    clouds = [
        cloud for name in points if _reaches(chains, node, name) for cloud in _circled(chains, name, points[name])
    ]
    return reach_radius(np.vstack(clouds)) if clouds else 0.0


def bears(chains: Chains, node: str, part: str) -> bool:
    """Whether a part, or frame, is or hangs on a node."""
    while part != CAR:
        if part == node:
            return True
        part = chains.nodes[part].parent
    return False


def _reaches(chains: Chains, node: str, part: str) -> bool:
    lines = (chains.scene.motions[name].frame for name in chains.motions.carrying(part))
    return bears(chains, node, part) or any(bears(chains, node, line) for line in lines)


def _circled(chains: Chains, part: str, points: Points) -> Iterator[Points]:
    """Points of a part as drawn, and turned by quarters round each line it turns about."""
    yield points
    for name in chains.motions.carrying(part):
        line = chains.pose(chains.base(chains.scene.motions[name].frame), {})
        for turn in chains.motions.quarters(name):
            yield (line @ turn @ line.inverse()).apply(points)


def reach_radius(points: Floats) -> float:
    """Of points (n, 3), mm: no turn whose chord at 1 mm is over t / radius leaves all of them within t.

    Of two points that a turn about an axis w carries, the distance changes by its chord times their distance across
    w, and by no more than 2 t. The mean square of that distance over all pairs is 2 (trace C - w C w), C being the
    covariance of the points; so some pair is sqrt(2 (the two least eigenvalues of C)) apart across any axis.
    """
    if len(points) < 2:
        return 0.0
    values = np.linalg.eigvalsh(np.cov(points.T, bias=True))
    return float(np.sqrt(max(2 * (values[0] + values[1]), 0.0))) / 2
