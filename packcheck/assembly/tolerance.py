"""What position and shape tolerances do to a gap.

A number t says that a surface may be anywhere within t of where the file says: gaps change by at most t. Three
numbers say that a part may be shifted by up to those, along the axes of the frame it stands in. What two parts
share (the tolerance of a frame or part that both hang on) moves both alike and cancels.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from copy import copy
from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Floats, Vector
from packcheck.frames import IDENTITY, Pose
from packcheck.scene.model import Frame, Part, Scene
from packcheck.tolerances import ABOUT_TOLERANCE

__all__ = ["Slack", "Slacks", "own_slack"]


@dataclass(frozen=True, slots=True, eq=False)
class Slack:
    """How far two parts may stand off their places in the file, relative to each other: a ball and some boxes.

    `ball` mm; `boxes` (k, 3, 3): the three half edges of each box as rows, mm, car frame.
    """

    ball: float
    boxes: Floats

    @property
    def most(self) -> float:
        """The most any gap can change, mm: a gap changes no faster than a part is shifted."""
        return self.ball + self._diagonals

    @property
    def _diagonals(self) -> float:
        return float(np.linalg.norm(self.boxes, axis=(1, 2)).sum())

    def least_gap(self, low: float, direction: Vector | None) -> float:
        """The least the gap can be, mm. `direction` (3,) may be given for convex parts only.

        Between convex parts the plane across the direction goes on separating them when one is shifted, so only
        the shift along it counts.
        """
        return low - self.ball - (self._diagonals if direction is None else self._along(direction))

    def greatest_gap(self, high: float, direction: Vector | None) -> float:
        """The most the gap can be, mm: no more than the distance between the shifted witness points."""
        if direction is None or high < 0:
            return high + self.most
        shifted = float(np.hypot(high + self._along(direction), self._diagonals))
        return self.ball + min(high + self._diagonals, shifted)

    def _along(self, direction: Vector) -> float:
        return float(np.abs(self.boxes @ direction).sum())


class Slacks:
    """The slack of every pair of parts of a scene; poses of the frames are needed to turn the boxes."""

    def __init__(self, scene: Scene, poses: Mapping[str, Pose]) -> None:
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._slack = {
            name: _own_slack(node, poses.get(node.parent, IDENTITY)) for name, node in self._nodes.items()
        }
        self._chains = {name: self._ancestors(name) for name in scene.parts}

    def between(self, a: str, b: str) -> Slack:
        """The slack between two parts: their own, and that of every carrier only one of them hangs on."""
        return self._of(self._unshared(a, b))

    def _unshared(self, a: str, b: str) -> list[str]:
        first, second = self._chains[a], self._chains[b]
        shared = {*first, a} & {*second, b}
        carriers = [name for name in (*first, *second) if name not in shared]
        return list(dict.fromkeys((a, b, *carriers)))

    def _of(self, names: Iterable[str]) -> Slack:
        slacks = [self._slack[name] for name in names]
        return Slack(
            sum(ball for ball, _ in slacks),
            np.array([box for _, boxes in slacks for box in boxes]).reshape(-1, 3, 3),
        )

    def own(self, name: str) -> Slack:
        """What one frame or part may stand off by itself, along the axes of the car."""
        return self._of([name])

    def counting(self, a: str, b: str) -> list[tuple[str, float]]:
        """What has a tolerance that counts between two parts, and how much, mm: the parts and their carriers."""
        each = ((name, self._of([name]).most) for name in self._unshared(a, b))
        return [(name, most) for name, most in each if most > 0]

    def known_to(self, tolerances: Mapping[str, float]) -> Slacks:
        """The same, were some parts and frames known to within a tolerance, mm, in any direction."""
        better = copy(self)
        better._slack = self._slack | {name: (ball, []) for name, ball in tolerances.items()}
        return better

    def loosened(self, by: Mapping[str, float]) -> Slacks:
        """The same, were every point of some parts and frames off by so many mm more, in any direction."""
        looser = copy(self)
        looser._slack = self._slack | {
            name: (ball + by[name], boxes) for name, (ball, boxes) in self._slack.items() if name in by
        }
        return looser

    def of_points(self, a: str, b: str) -> Slack:
        """The slack between a point on node `a` and one on node `b`, frames or parts, or the car.

        As between parts; and two points of one part may each be off by its own tolerance, where that is a ball: its
        surface need not be the shape in the file.
        """
        first, second = self._chain(a), self._chain(b)
        shared = set(first) & set(second)
        apart = self._of(name for name in (*first, *second) if name not in shared)
        own = 2 * self._slack[a][0] if a == b and isinstance(self._nodes.get(a), Part) else 0.0
        return Slack(own + apart.ball, apart.boxes)

    def tilting(self, name: str, besides: Collection[str] = ()) -> float:
        """How far each point of node `name` may be off in its own direction, mm, and so turn what stands on it.

        Its own tolerance and that of all that carries it, where they are balls: three numbers shift a thing and
        turn nothing. What also carries one of `besides` turns both alike.
        """
        shared = {node for other in besides for node in self._chain(other)}
        return sum(self._slack[node][0] for node in self._chain(name) if node not in shared)

    def _chain(self, name: str) -> tuple[str, ...]:
        """A node and all that carries it; nothing for the car."""
        return (name, *self._ancestors(name)) if name in self._nodes else ()

    def most(self, name: str) -> float:
        """The most that `name` can stand off its place in the car, mm, with everything it hangs on."""
        slacks = [self._slack[node] for node in (name, *self._chains[name])]
        return sum(Slack(ball, np.array(boxes).reshape(-1, 3, 3)).most for ball, boxes in slacks)

    def _ancestors(self, name: str) -> tuple[str, ...]:
        chain: list[str] = []
        node = self._nodes[name]
        while node.parent in self._nodes:
            chain.append(node.parent)
            node = self._nodes[node.parent]
        return tuple(chain)


def own_slack(node: Frame | Part) -> Slack:
    """What one frame or part may stand off by itself, with boxes along the axes of what it stands in."""
    ball, boxes = _own_slack(node, IDENTITY)
    return Slack(ball, np.array(boxes).reshape(-1, 3, 3))


def _own_slack(node: Frame | Part, parent: Pose) -> tuple[float, list[Floats]]:
    """The ball, mm, and the boxes (3, 3) of one frame or part, car frame."""
    rough = isinstance(node, Part) and node.fit == "about" and not any(node.tolerance)
    if rough:
        return ABOUT_TOLERANCE, []
    if node.tolerance_is_ball:
        return node.tolerance[0], []
    return 0.0, [np.diag(node.tolerance) @ parent.rotation.T]
