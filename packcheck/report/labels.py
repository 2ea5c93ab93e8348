r"""Names beside points of a picture, so that none covers another and each can be told to belong to its point.

        gearbox_dowel          Each name is tried beside its point first, then farther and farther round it;
          /                    where it stands off, a thin line leads to the point. The place that covers
-----(o)------ scuttle         least is taken, names and points before ellipses, near before far. Points in
       \                       a crowd choose first.
        dowel_high
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Floats

__all__ = ["HEIGHT", "Label", "placed_labels", "width_of"]

HEIGHT: Final = 13.0
"""px of a line of text at 11 px, with the air it needs."""

LETTER: Final = 6.7
"""px that a letter takes at 11 px in a wide sans-serif."""

BESIDE: Final = 6.0
"""px between a point and a name that stands right beside it."""

RINGS: Final = np.array([BESIDE, 12.0, 20.0, 30.0, 44.0, 60.0, 80.0, 104.0, 132.0, 164.0])
TURNS: Final = np.radians([-45, 45, -135, 135, 0, 180, -90, 90, -20, 20, -160, 160, -70, 70, -110, 110])
CROWD: Final = 60.0
"""px within which points crowd each other."""

COVERS_NAME, COVERS_POINT, COVERS_OTHER, OUTSIDE = 30.0, 12.0, 0.6, 1000.0
"""What it costs, against a px of standing off, to cover a px of height of these."""


@dataclass(frozen=True, slots=True)
class Label:
    """The left end and the base line of a name; `lead` (2,) is where its leading line ends, if it needs one."""

    x: float
    y: float
    lead: tuple[float, float] | None


def width_of(name: str) -> float:
    """px that a name takes."""
    return LETTER * len(name) + 2


def placed_labels(points: Floats, names: tuple[str, ...], kept_off: Floats, within: Floats) -> list[Label]:
    """A place for every name.

    Parameters
    ----------
    points : Floats
        (n, 2), px, right and down.
    names : tuple of str
    kept_off : Floats
        (n, 2), half sizes of what is drawn round each point, which a name should rather not cover.
    within : Floats
        (4,) left, top, right, bottom of the picture, px.
    """
    boxes = np.zeros((len(points), 4))
    marks = np.hstack([points - 4, points + 4])
    others = np.hstack([points - kept_off, points + kept_off])
    order = np.argsort(-np.sum(_between(points) < CROWD, axis=1), kind="stable")
    for count, k in enumerate(order):
        offered = _offered(points[k], width_of(names[k]))
        cost = np.repeat(RINGS, len(TURNS)) - BESIDE
        cost = cost + COVERS_NAME * _covered(offered, boxes[order[:count]])
        cost += COVERS_POINT * _covered(offered, marks) + COVERS_OTHER * _covered(offered, others)
        outside = np.maximum(np.hstack([within[:2] - offered[:, :2], offered[:, 2:] - within[2:]]), 0).sum(axis=1)
        boxes[k] = offered[int(np.argmin(cost + OUTSIDE * outside))]
    return [_label(box, point) for box, point in zip(boxes, points, strict=True)]


def _between(points: Floats) -> Floats:
    apart: Floats = np.linalg.norm(points[:, None] - points[None], axis=2)
    return apart


def _offered(point: Floats, width: float) -> Floats:
    """Boxes (k, 4), left, top, right, bottom, on rings round a point, the nearest first."""
    ways = np.column_stack([np.cos(TURNS), np.sin(TURNS)])
    half = np.array([width, HEIGHT]) / 2
    lean = np.clip(ways * 1.42, -1, 1) * half  # a box beside a point has its own edge there, not its middle
    middles = point + (ways[None] * RINGS[:, None, None] + lean[None]).reshape(-1, 2)
    return np.hstack([middles - half, middles + half])


def _covered(offered: Floats, taken: Floats) -> Floats:
    """By how many px (k,), as the shorter side of what is common, boxes cover those that are taken (m, 4)."""
    reach = np.hstack([offered[:, :2].min(axis=0), offered[:, 2:].max(axis=0)])
    taken = taken[np.all((taken[:, :2] < reach[2:]) & (taken[:, 2:] > reach[:2]), axis=1)]
    low = np.maximum(offered[:, None, :2], taken[None, :, :2])
    high = np.minimum(offered[:, None, 2:], taken[None, :, 2:])
    shorter: Floats = np.maximum(high - low, 0).min(axis=2).sum(axis=1)
    return shorter


def _label(box: Floats, point: Floats) -> Label:
    near = np.clip(point, box[:2], box[2:])
    off = float(np.linalg.norm(near - point)) > BESIDE + 1
    return Label(float(box[0]) + 1, float(box[3]) - 3, (float(near[0]), float(near[1])) if off else None)
