r"""What is not surely known of where parts stand, and what it does to a gap.

Each frame or part may be off by a small shift and a small turn about its own zero. Those stated in the file are
independent of each other; those found by the survey hang together, since one bad tape moves all that was measured
with it. A gap changes with them along its direction n:

    d(gap) = n . (shift_a + turn_a x (p_a - zero_a)) - n . (shift_b + turn_b x (p_b - zero_b))

over everything a hangs on and everything b hangs on. What both hang on moves both alike and is left out.
First derivatives: good as long as the nearest points stay about where they are (`drawn` tests that).

Source: GUM (JCGM 100:2008), 5.2.2.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector, frozen
from packcheck.assembly.surveyed import Surveyed
from packcheck.frames import IDENTITY, Pose
from packcheck.scene.model import Frame, Part, Scene
from packcheck.survey.network import ARM, rotation_of
from packcheck.tolerances import COVERAGE

__all__ = ["Spreads"]


class Spreads:
    """The covariance of everything in a scene that may be off, and what comes of it.

    `boxes` hold least and greatest corners (2, 3) mm of every part, car frame.
    """

    def __init__(
        self,
        scene: Scene,
        poses: Mapping[str, Pose],
        boxes: Mapping[str, Floats],
        surveyed: Surveyed | None = None,
    ) -> None:
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._poses, self._boxes = poses, boxes
        bodies = surveyed.bodies if surveyed else ()
        stated = [name for name, node in self._nodes.items() if node.uncertainty is not None and name not in bodies]
        self.names = (*bodies, *stated)
        self._columns = {name: 6 * place for place, name in enumerate(self.names)}
        self.covariance = np.zeros((6 * len(self.names), 6 * len(self.names)))
        if surveyed and bodies:
            self.covariance[: 6 * len(bodies), : 6 * len(bodies)] = surveyed.covariance()
        for name in stated:
            at = self._columns[name]
            self.covariance[at : at + 6, at : at + 6] = self._stated(self._nodes[name])
        self._chains = {name: self._chain(name) for name in scene.parts}

    def _chain(self, name: str) -> tuple[str, ...]:
        """The uncertain things that a part is or hangs on."""
        chain: list[str] = []
        while name in self._nodes:
            if name in self._columns:
                chain.append(name)
            name = self._nodes[name].parent
        return tuple(chain)

    def _stated(self, node: Frame | Part) -> Floats:
        """Covariance (6, 6) of shift, mm, and turn, radians, in the car; stated along the axes of the parent."""
        assert node.uncertainty is not None
        axes = self._poses.get(node.parent, IDENTITY).rotation
        covariance = np.zeros((6, 6))
        covariance[:3, :3] = axes @ np.diag(np.square(node.uncertainty.shift)) @ axes.T
        covariance[3:, 3:] = axes @ np.diag(np.square(np.radians(node.uncertainty.turn))) @ axes.T
        return covariance

    def own(self, name: str) -> tuple[Floats, Point]:
        """Of one of `names`: the covariance (6, 6) of shift, mm, and turn, radians; the zero (3,) of the turn."""
        at = self._columns[name]
        return self.covariance[at : at + 6, at : at + 6], self._poses[name].translation

    def uncertain(self, a: str, b: str) -> bool:
        """Whether anything that only one of two parts hangs on may be off."""
        return set(self._chains[a]) != set(self._chains[b])

    def gradient(self, a: str, b: str, points: Points, direction: Vector) -> Floats:
        """How the gap of two parts changes with every shift and turn (n,), from its points (2, 3) and direction."""
        gradient = np.zeros(len(self.covariance))
        shared = {*self._chains[a]} & {*self._chains[b]}
        for part, point, way in ((a, points[0], direction), (b, points[1], -direction)):
            for name in self._chains[part]:
                if name not in shared:
                    at = self._columns[name]
                    arm = point - self._poses[name].translation
                    gradient[at : at + 6] += np.concatenate([way, np.cross(arm, way)])
        return gradient

    def standard(self, a: str, b: str, points: Points, direction: Vector) -> float:
        """The standard uncertainty of a gap, mm."""
        gradient = self.gradient(a, b, points, direction)
        return float(np.sqrt(max(float(gradient @ self.covariance @ gradient), 0.0)))

    def shares(self, gradient: Floats) -> dict[str, float]:
        """What each uncertain thing alone would make the standard uncertainty of a gap, mm."""
        shares = {}
        for name, at in self._columns.items():
            own = gradient[at : at + 6]
            variance = own @ self.covariance[at : at + 6, at : at + 6] @ own
            shares[name] = float(np.sqrt(max(float(variance), 0.0)))
        return {name: share for name, share in shares.items() if share > 0}

    def on_survey(self, gradient: Floats, surveyed: Surveyed) -> Floats:
        """A gradient by shifts and turns as one by the unknowns of the survey (n,)."""
        network = surveyed.adjustment.network
        target = np.zeros(network.unknowns)
        for body in surveyed.bodies:
            own = gradient[self._columns[body] : self._columns[body] + 6]
            target[network.columns(body)] = np.concatenate([own[:3], own[3:] / ARM])
        return target

    def most(self, a: str, b: str) -> float:
        """A standard uncertainty, mm, that no gap between two parts exceeds, whichever way it points.

        By the triangle inequality: the standard uncertainties of all shifts and turns simply added.
        """
        shared = {*self._chains[a]} & {*self._chains[b]}
        return sum(self._alone(part, name) for part in (a, b) for name in self._chains[part] if name not in shared)

    def leverage(self, part: str, other: str, along: Collection[str]) -> float:
        """How fast, mm per mm, `most` can grow as a part is carried off, with the things `along` that go with it.

        What turns by a small angle about a zero that stays behind sweeps a longer arm.
        """
        shared = {*self._chains[part]} & {*self._chains[other]}
        staying = [name for name in self._chains[part] if name not in shared and name not in along]
        return sum(float(np.sqrt(np.trace(self.own(name)[0][3:, 3:]))) for name in staying)

    def alone(self, part: str) -> float:
        """As `most`, of one part against what is surely known."""
        return sum(self._alone(part, name) for name in self._chains[part])

    def farthest(self) -> dict[str, float]:
        """What every point of each uncertain thing, and of all it carries, may be off by, mm: 95 times in 100."""
        carried = {name: [part for part, chain in self._chains.items() if name in chain] for name in self.names}
        return {
            name: COVERAGE * max((self._alone(part, name) for part in parts), default=self._shift(name))
            for name, parts in carried.items()
        }

    def _shift(self, name: str) -> float:
        at = self._columns[name]
        return float(np.sqrt(np.trace(self.covariance[at : at + 3, at : at + 3])))

    def _alone(self, part: str, name: str) -> float:
        at = self._columns[name]
        own = self.covariance[at : at + 6, at : at + 6]
        reach = np.abs(self._boxes[part] - self._poses[name].translation).max(axis=0)
        arm = float(np.linalg.norm(reach))
        return float(np.sqrt(np.trace(own[:3, :3])) + arm * np.sqrt(np.trace(own[3:, 3:])))

    def poses_drawn(self, parts: tuple[str, str], draw: Floats) -> tuple[Pose, Pose]:
        """Where two parts stand when everything is off by `draw` (n,)."""
        first, second = (self._drawn(part, draw) for part in parts)
        return first, second

    def _drawn(self, part: str, draw: Floats) -> Pose:
        """Outermost last: each thing turns about its own nominal zero, and carries what hangs on it along."""
        pose = self._poses[part]
        for name in self._chains[part]:
            at = self._columns[name]
            zero = self._poses[name].translation
            turn = rotation_of(draw[at + 3 : at + 6])
            pose = Pose(
                frozen(turn @ pose.rotation),
                frozen(_about(pose.translation, zero, turn) + draw[at : at + 3]),
            )
        return pose


def _about(point: Point, zero: Point, turn: Floats) -> Point:
    turned: Point = turn @ (point - zero) + zero
    return turned
