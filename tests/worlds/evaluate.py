"""Where does every part truly stand in one world, at one setting of its motions?

    X_n    = X_parent . shift(at + e) . W . turn(n)
    X_n(q) = product, outermost first, over the motions that carry n: L J(q - placed_at) L^-1, then X_n
    L      = X of the frame a line is given in, as drawn in this world, without any motion
    X_img  = own source . X_X S X_X^-1 [X_source, its own source left out] F
    rest   : led up sideways off by its own e, contact with what it rests on as that truly is, then e along the way

What a resting part touches with is its surface as drawn: its own tolerance says how far off that it may then be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from tests.oracles.shapes import Array, Pose
from tests.worlds.contact import contact
from tests.worlds.gap import Gap, Solid, gap, solid
from tests.worlds.motions import Setting, moved
from tests.worlds.pieces import Piece
from tests.worlds.scene import Node, Scene
from tests.worlds.sources import Move, World, deformed, rotated

__all__ = ["Drawn", "MissedError", "Settings", "gap_in", "needed"]

Settings = Mapping[str, Setting]
"""Where each motion stands; one that is not named stands at 0."""

STILL = Move(np.zeros(3), np.zeros(3))


class MissedError(ValueError):
    """A part meets nothing where it should rest."""


@dataclass(slots=True, eq=False)
class Drawn:
    """A scene as it truly is in one world."""

    scene: Scene
    world: World = field(default_factory=World)
    _stands: dict[str, Pose] = field(default_factory=dict)

    def stand(self, name: str) -> Pose:
        """The pose in the car of a frame or part, without any motion."""
        if name == "car":
            return Pose()
        if name not in self._stands:
            self._stands[name] = self._found(self.scene.nodes[name])
        return self._stands[name]

    def _found(self, node: Node) -> Pose:
        move = self.world.moves.get(node.name, STILL)
        if node.image is not None:
            return self._imaged(node, move)
        parent = self.stand(node.parent)
        at = node.at + move.shift
        if node.rest is not None:
            at = at + node.rest.way * self._height(node, parent, move)
        return parent @ Pose(rotated(move.turn) @ node.turn, at)

    def _imaged(self, node: Node, move: Move) -> Pose:
        """Its own move is along the axes of what its source stands in, reflected: a turn goes the other way."""
        assert node.image is not None
        mirror = self.mirror(node.image.across)
        flip = np.eye(3)
        flip[self.scene.left, self.scene.left] = -1.0
        source = self.scene.nodes[node.image.of]
        stand = mirror @ self._plain(source) @ Pose(flip)
        axes = self.stand(node.parent).rotation if node.image.own else mirror.rotation @ self.axes_of(source)
        turn = rotated(axes @ move.turn * np.linalg.det(axes))
        return Pose(turn @ stand.rotation, stand.translation + axes @ move.shift)

    def axes_of(self, source: Node) -> Array:
        """The axes of what the source of an image stands in."""
        axes: Array = self.stand(source.parent).rotation
        return axes

    def mirror(self, across: str) -> Pose:
        """The reflection from left to right of a frame."""
        stand = self.stand(across)
        flip = np.eye(3)
        flip[self.scene.left, self.scene.left] = -1.0
        matrix = stand.rotation @ flip @ stand.rotation.T
        return Pose(matrix, stand.translation - matrix @ stand.translation)

    def _plain(self, source: Node) -> Pose:
        """The pose of the source of an image, its own source left out."""
        moves = {name: move for name, move in self.world.moves.items() if name != source.name}
        bare = Drawn(self.scene, World(moves, self.world.skins), {})
        bare._stands = {name: pose for name, pose in self._stands.items() if not self._bears(source.name, name)}
        return bare.stand(source.name)

    def _bears(self, bearer: str, name: str) -> bool:
        return bearer in needed(self.scene, name)

    def _height(self, node: Node, parent: Pose, move: Move) -> float:
        """How far along its way a resting part stands off its `at`."""
        rest = node.rest
        assert rest is not None and node.pieces is not None
        sideways = move.shift - rest.way * (rest.way @ move.shift)
        led = solid(node.pieces, parent @ Pose(node.turn, node.at + sideways))
        met = [contact(led, self.at_rest(name), parent.rotation @ rest.way) for name in rest.on]
        heights = [height for height in met if height is not None]
        if not heights:
            raise MissedError(node.name)
        return max(heights) + rest.by

    def at_rest(self, name: str) -> Solid:
        """The true solid of a part as drawn, without any motion."""
        return solid(self.pieces(name), self.shown(name, self.stand(name)))

    def pieces(self, name: str) -> tuple[Piece, ...]:
        pieces = self.scene.nodes[name].pieces
        assert pieces is not None
        skin = self.world.skins.get(name)
        return pieces if skin is None else deformed(pieces, skin)

    def shown(self, name: str, stand: Pose) -> Pose:
        """Of an image the pieces are those of its source, reflected."""
        if self.scene.nodes[name].image is None:
            return stand
        flip = np.eye(3)
        flip[self.scene.left, self.scene.left] = -1.0
        return stand @ Pose(flip)

    def pose(self, name: str, settings: Settings) -> Pose:
        """The pose in the car of a node at a setting."""
        pose = Pose()
        for motion in self.scene.carrying(name):
            pose = pose @ self.motion(motion, settings.get(motion))
        return pose @ self.stand(name)

    def motion(self, name: str, setting: Setting | None) -> Pose:
        """What a motion does to points of the car."""
        motion = self.scene.motions[name]
        zero = self.stand(motion.carries[0]).translation if motion.kind == "path" else np.zeros(3)
        return moved(motion, self.stand(motion.frame), zero, setting)

    def solid(self, name: str, settings: Settings) -> Solid:
        """The true solid of a part in the car."""
        return solid(self.pieces(name), self.shown(name, self.pose(name, settings)))


def needed(scene: Scene, name: str) -> set[str]:
    """All nodes that bear on where a node stands as drawn, itself among them."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        node = scene.nodes.get(waiting.pop())
        if node is None or node.name in found:
            continue
        found.add(node.name)
        waiting.append(node.parent)
        waiting += node.rest.on if node.rest else ()
        waiting += (node.image.of, node.image.across) if node.image else ()
    return found


def gap_in(scene: Scene, world: World, a: str, b: str, settings: Settings) -> Gap:
    """The true gap of two parts in a world, mm. Raises MissedError where a part meets nothing to rest on."""
    drawn = Drawn(scene, world)
    return gap(drawn.solid(a, settings), drawn.solid(b, settings))
