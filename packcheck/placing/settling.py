"""Puts parts `at` a place where the file gives one that only the solids, or other parts, can tell.

Three steps for each part, and each part after those it needs: the image of another part, faces at coordinates, a
face that rests.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from packcheck.errors import Fault, SceneError, SourceMark
from packcheck.frames import IDENTITY, Pose
from packcheck.placing.faces import by_coordinates
from packcheck.placing.mirroring import imaged
from packcheck.placing.placing import SolidMaker
from packcheck.placing.resting import rested, resting_face
from packcheck.proximity.separation import Placed
from packcheck.scene.model.scene import Frame, Part, Scene
from packcheck.scene.model.standing import leaders

__all__ = ["settled"]


def settled(scene: Scene, maker: SolidMaker) -> Scene:
    """The scene with every part put `at` a place; one that is settled already: what follows what was moved since.

    Raises
    ------
    SceneError
        With every pair of opposite faces that disagrees with the size of its part, and every part that meets
        nothing where it should rest.
    """
    return _Settling(scene, maker).scene()


class _Settling:
    """The parts of a scene, settled one after the other. The scene has no loops: the loader saw to it."""

    def __init__(self, scene: Scene, maker: SolidMaker) -> None:
        self._scene, self._maker = scene, maker
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._waiting = {name for name, part in scene.parts.items() if part.faces or part.mirror or part.rest}
        self._lost: set[str] = set()
        self._faults: list[Fault] = []

    def scene(self) -> Scene:
        for name in self._scene.parts:
            self._settle(name)
        if self._faults:
            raise SceneError(sorted(self._faults, key=lambda fault: fault.mark or SourceMark("")))
        return replace(self._scene, parts={name: self._part(name) for name in self._scene.parts})

    def _part(self, name: str) -> Part:
        part = self._nodes[name]
        assert isinstance(part, Part)
        return part

    def _settle(self, name: str) -> None:
        """Settle a part, and before it all that it waits for."""
        stack = [name]
        while stack:
            needed = [node for node in self._needs(stack[-1]) if node in self._waiting]
            if stack[-1] in self._waiting and needed:
                stack += needed
            else:
                self._put(stack.pop())

    def _needs(self, name: str) -> Iterator[str]:
        """Everything that must stand before a part can be put in its place."""
        part = self._part(name)
        rests_on = [other for face in part.faces for other in face.on]
        for other in (part.parent, *rests_on, *leaders(part.mirror, part.rest)):
            yield from self._chain(other)

    def _chain(self, name: str) -> list[str]:
        """A part or frame and everything it hangs on."""
        chain = []
        while name in self._nodes:
            chain.append(name)
            name = self._nodes[name].parent
        return chain

    def _put(self, name: str) -> None:
        if name not in self._waiting:
            return
        self._waiting.discard(name)
        found = None if self._lost.intersection(self._needs(name)) else self._standing(self._part(name))
        if isinstance(found, Part):
            self._nodes[name] = found
        else:  # what it needs has no place, which was told, or it has none itself
            self._lost.add(name)
            self._faults += found or []

    def _standing(self, part: Part) -> Part | list[Fault]:
        if part.mirror:
            part = imaged(part, self._part(part.mirror.of), self._pose)
        found = by_coordinates(part, self._maker) if part.faces else part
        face = resting_face(found) if isinstance(found, Part) else None
        if not isinstance(found, Part) or face is None:
            return found
        lowered = rested(found, face, self._maker.solids(found), self._pose(found.parent), self._placed)
        return [lowered] if isinstance(lowered, Fault) else lowered

    def _placed(self, name: str) -> Placed:
        return Placed(name, self._maker.solids(self._part(name)), self._pose(name))

    def _pose(self, name: str) -> Pose:
        """Where something stands in the car, whose chain is settled."""
        pose = IDENTITY
        for node in self._chain(name):
            pose = Pose.of(self._nodes[node].at, self._nodes[node].turn) @ pose
        return pose
