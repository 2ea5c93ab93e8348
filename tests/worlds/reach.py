"""How far does a place reach? A box round all that a node bears on, swung round every line of the scene."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.oracles.bodies import box_corners
from tests.oracles.shapes import Array
from tests.worlds.evaluate import Drawn, needed
from tests.worlds.motions import Motion
from tests.worlds.pieces import corners
from tests.worlds.scene import Scene

__all__ = ["reach_of"]


def reach_of(drawn: Drawn, name: str) -> Array:
    """Least and greatest corners (2, 3) mm, car axes, of the reach of a node, grown by every tolerance there is."""
    scene = drawn.scene
    borne = list(_borne(scene, name))
    points = [drawn.stand(name).translation[None]]
    for part in borne:
        pieces = scene.nodes[part].pieces
        assert pieces is not None
        points.append(drawn.shown(part, drawn.stand(part)).apply(corners(pieces)))
    low, high = np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)
    for motion in _inner_first(scene, borne):
        low, high = _swung(motion, drawn, low, high)
    boxes = [0.0 if node.box is None else float(np.linalg.norm(node.box)) for node in scene.nodes.values()]
    slack = sum(boxes) + sum(node.ball for node in scene.nodes.values())
    return np.array([low - slack, high + slack])


def _inner_first(scene: Scene, borne: list[str]) -> list[Motion]:
    """What moves the borne, innermost first; then all else that moves, from which the borne are looked at."""
    inner = dict.fromkeys(name for part in borne for name in reversed(scene.carrying(part)))
    return [scene.motions[name] for name in (*inner, *(m for m in scene.motions if m not in inner))]


def _borne(scene: Scene, name: str) -> Iterator[str]:
    """The parts whose true place a node bears on: by hanging on it, by a mirror, a rest, or a line."""
    for part in scene.parts:
        lines = {scene.motions[m].frame for m in scene.carrying(part)}
        lines |= {scene.motions[m].carries[0] for m in scene.carrying(part) if scene.motions[m].kind == "path"}
        if any(name in needed(scene, node) for node in (part, *lines)):
            yield part
            image = scene.nodes[part].image
            if image is not None:
                yield image.of


def _swung(motion: Motion, drawn: Drawn, low: Array, high: Array) -> tuple[Array, Array]:
    """A box round a box that is carried to every setting of a motion, all the way round where it turns."""
    line = drawn.stand(motion.frame)
    if motion.kind == "travel":
        assert motion.way is not None
        way = line.rotation @ motion.way
        ends = np.array([way * (end - motion.placed_at) for end in motion.ranges[0]] + [np.zeros(3)])
        return low + ends.min(axis=0), high + ends.max(axis=0)
    if motion.kind in ("hinge", "full_turn"):
        assert motion.through is not None and motion.way is not None
        return _round(line.apply(motion.through), line.rotation @ motion.way, low, high)
    centre = drawn.stand(motion.carries[0]).translation if motion.through is None else line.apply(motion.through)
    radius = np.linalg.norm(np.maximum(np.abs(low - centre), np.abs(high - centre)))
    shift = 0.0
    if motion.kind == "rock":
        most = [max(map(abs, r)) for which, r in zip(motion.axes, motion.ranges, strict=True) if which >= 3]
        shift = float(np.linalg.norm(most)) if most else 0.0
    elif motion.stops:
        shift = max(float(np.linalg.norm(at)) for at, _ in motion.stops)
    return np.minimum(low, centre - radius - shift), np.maximum(high, centre + radius + shift)


def _round(centre: Array, axis: Array, low: Array, high: Array) -> tuple[Array, Array]:
    points = (low + high) / 2 + box_corners(tuple(high - low))
    along = (points - centre) @ axis
    feet = centre + along[:, None] * axis
    radii = np.linalg.norm(points - feet, axis=1)[:, None]
    half = radii * np.sqrt(np.maximum(1 - axis**2, 0.0))
    return np.minimum(low, (feet - half).min(axis=0)), np.maximum(high, (feet + half).max(axis=0))
