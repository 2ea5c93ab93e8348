"""Puts parts `at` a place where the file gives one that only the solids can tell, each after what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from packcheck.assembly.faces import by_coordinates
from packcheck.assembly.placing import SolidMaker
from packcheck.assembly.resting import rested, resting_face
from packcheck.errors import Fault, SceneError
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity.separation import Placed
from packcheck.scene.model import Face, Frame, Part, Scene

__all__ = ["settled"]


def settled(scene: Scene, maker: SolidMaker) -> Scene:
    """The scene with every part that is placed by faces put `at` a place.

    Raises
    ------
    SceneError
        With every pair of opposite faces that disagrees with the size of its part, or every part that meets
        nothing where it should rest.
    """
    scene = by_coordinates(scene, maker)
    resting = [part for part in scene.parts.values() if resting_face(part)]
    return _Settling(scene, maker).scene() if resting else scene


class _Settling:
    """The parts of a scene, settled one after the other. The scene has no loops: the loader saw to it."""

    def __init__(self, scene: Scene, maker: SolidMaker) -> None:
        self._scene, self._maker = scene, maker
        self._parts = dict(scene.parts)
        self._waiting = {name for name, part in scene.parts.items() if resting_face(part)}
        self._lost: set[str] = set()
        self._faults: list[Fault] = []

    def scene(self) -> Scene:
        for name in list(self._waiting):
            self._settle(name)
        if self._faults:
            raise SceneError(sorted(self._faults, key=lambda fault: str(fault.mark)))
        return replace(self._scene, parts=self._parts)

    def _settle(self, name: str) -> None:
        """Settle a part, and before it all that it waits for."""
        stack = [name]
        while stack:
            face = self._unsettled(stack[-1])
            if face is None:
                stack.pop()
                continue
            needed = [node for node in self._rests_upon(stack[-1], face) if node in self._waiting]
            if needed:
                stack += needed
            else:
                self._put(stack.pop(), face)

    def _unsettled(self, name: str) -> Face | None:
        return resting_face(self._parts[name]) if name in self._waiting else None

    def _rests_upon(self, name: str, face: Face) -> Iterator[str]:
        """Everything that must stand before a part can be led to its rest."""
        yield from self._chain(self._parts[name].parent)
        for other in face.on:
            yield from self._chain(other)

    def _chain(self, name: str) -> Iterator[str]:
        """A part or frame and everything it hangs on."""
        nodes: Mapping[str, Frame | Part] = {**self._scene.frames, **self._parts}
        while name in nodes:
            yield name
            name = nodes[name].parent

    def _put(self, name: str, face: Face) -> None:
        self._waiting.discard(name)
        part = self._parts[name]
        if not self._lost.isdisjoint(self._rests_upon(name, face)):
            self._lost.add(name)  # what it rests upon has no place; that was told
            return
        found = rested(part, face, self._maker.solids(part), self._pose(part.parent), self._placed)
        if isinstance(found, Fault):
            self._lost.add(name)
            self._faults.append(found)
        else:
            self._parts[name] = found

    def _placed(self, name: str) -> Placed:
        return Placed(name, self._maker.solids(self._parts[name]), self._pose(name))

    def _pose(self, name: str) -> Pose:
        """Where something stands in the car, whose chain is settled."""
        pose = IDENTITY
        for node in self._chain(name):
            standing = self._parts.get(node) or self._scene.frames[node]
            pose = Pose.of(standing.at, standing.turn) @ pose
        return pose
