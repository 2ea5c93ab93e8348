r"""Where a part stands, as a word of steps from the car outward in: what two parts share is the same letters.

    X_n    = X_parent . rest . shift(at + e) . W . turn              a node; e and W: what is not known of its place
    X_n(q) = L J(q - placed_at) L^-1 . ... . X_n                     motions outermost first; L = X of the frame of
                                                                     the line, as drawn, without any motion
    X_img  = X_across S X_across^-1 . X_parent of what is mirrored . (at + e) W turn . F

Seen from part B, part A stands at X_B^-1 X_A. Letters that stand beside their own inverse vanish, and with them all
that is not known of them: what cancels, cancels because it is the same letter, whatever carries it.

A letter whose turn follows one chain and whose zero another (an image with a place of its own, a path that turns
about what it carries) is `mixed`: of each step of the first chain the turn counts, of the second the shift.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.frames import IDENTITY, Pose, turn_matrix
from packcheck.kinematics.motions import Motions
from packcheck.scene.model.motion import Path
from packcheck.scene.model.scene import CAR, Frame, Mirror, Part, Scene

__all__ = ["Chains", "Letter", "Setting", "Step", "Word", "inverse", "reduced"]

Letter: TypeAlias = tuple[str, str]
"""What a step is, and of which frame, part or motion: node, rest, joint, flip (own axes), mirror (of an image),
mixed (of a node), mixed path (of a motion)."""

Step: TypeAlias = tuple[Letter, int]
"""A letter and its sense: 1, or -1 where the step is taken back."""

Word: TypeAlias = tuple[Step, ...]

Setting: TypeAlias = Mapping[str, tuple[Floats, int]]
"""The parameters (k,) of motions that act, and on which piece of its path each is; those left out are at rest."""


def inverse(word: Word) -> Word:
    """The word that undoes another."""
    return tuple((letter, -sense) for letter, sense in reversed(word))


def reduced(word: Sequence[Step]) -> Word:
    """The word without letters that stand beside their own inverse."""
    kept: list[Step] = []
    for letter, sense in word:
        if kept and kept[-1] == (letter, -sense):
            kept.pop()
        else:
            kept.append((letter, sense))
    return tuple(kept)


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """Where a node stands in what it hangs on: put there by `shift`, then turned."""

    shift: Pose
    turn: Pose


class Chains:
    """The chains of a settled scene. `drawn` are the poses of all frames and parts as the file has them."""

    def __init__(self, scene: Scene, motions: Motions, drawn: Mapping[str, Pose]) -> None:
        self.scene, self.motions, self.drawn = scene, motions, drawn
        self.nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._base: dict[str, Word] = {CAR: ()}
        self._words: dict[tuple[str, tuple[str, ...]], Word] = {}
        self._places: dict[str, _Place] = {}
        self._put: Mapping[str, _Place] = {}

    def put(self, node: str, local: Pose) -> Chains:
        """The same chains with one node put elsewhere in what it hangs on: it rests no more, and is no image."""
        other = Chains(self.scene, self.motions, self.drawn)
        other._put = {**self._put, node: _placed(local.translation, local.rotation)}
        if self._put.keys() == other._put.keys() or not self.is_led(node):
            other._base, other._words = self._base, self._words
        return other

    def is_led(self, node: str) -> bool:
        """Whether a node stands where another part puts it."""
        part = self.nodes[node]
        return isinstance(part, Part) and (part.rest is not None or self._mirrored(part))

    def _mirrored(self, part: Frame | Part) -> bool:
        if not isinstance(part, Part) or part.mirror is None or part.name in self._put:
            return False
        return bool(part.mirror.of) and (part.mirror.placed or part.mirror.turned)

    def word(self, node: str, acting: Sequence[str] = ()) -> Word:
        """The chain of a node from the car, with the motions `acting` that carry it, and those drawn open."""
        key = (node, tuple(acting))
        if key not in self._words:
            carrying = [name for name in self.motions.carrying(node) if self._counts(name, acting)]
            moved = [step for name in carrying for step in self._motion(name)]
            self._words[key] = reduced([*moved, *self.base(node)])
        return self._words[key]

    def _counts(self, motion: str, acting: Sequence[str]) -> bool:
        return motion in acting or bool(self.scene.motions[motion].placed_at)

    def relative(self, a: str, b: str, acting: Sequence[str] = ()) -> Word:
        """The chain of `a` as seen from `b`."""
        return reduced([*inverse(self.word(b, acting)), *self.word(a, acting)])

    def base(self, node: str) -> Word:
        """The chain of a node as drawn, without motions."""
        if node not in self._base:
            part = self.nodes[node]
            if not self._mirrored(part):
                self._base[node] = (*self.base(part.parent), *self._own(node))
            elif isinstance(part, Part) and part.mirror and part.mirror.placed and part.mirror.turned:
                self._base[node] = self._image(part, part.mirror)
            else:
                self._base[node] = ((("mixed", node), 1),)
        return self._base[node]

    def _own(self, node: str) -> Word:
        """The last steps of a node: down to what it rests on, and its place."""
        part = self.nodes[node]
        rests = isinstance(part, Part) and part.rest is not None and node not in self._put
        return ((("rest", node), 1), (("node", node), 1)) if rests else ((("node", node), 1),)

    def _image(self, part: Part, mirror: Mirror) -> Word:
        """The chain of an image where the mirror shows it, with a place and a rest of its own."""
        across, name = self.base(mirror.across), part.name
        shown = [((kind, name if of == mirror.of else of), sense) for (kind, of), sense in self.base(mirror.of)]
        steps = [*across, (("mirror", name), 1), *inverse(across)]
        if (("node", name), 1) not in shown:
            shown.append((("node", name), 1))
        return reduced([*steps, *shown, (("flip", name), 1)])

    def _motion(self, name: str) -> Word:
        """L J L^-1 of a motion."""
        motion = self.scene.motions[name]
        line: Word = self.base(motion.frame)
        if isinstance(motion.movement, Path) and motion.movement.about is None:
            line = ((("mixed path", name), 1),)
        return (*line, (("joint", name), 1), *inverse(line))

    def parents(self, letter: Letter) -> tuple[Word, Word]:
        """Of a mixed letter: the chain that its turn follows, and the chain that its zero follows."""
        kind, name = letter
        if kind == "mixed path":
            motion = self.scene.motions[name]
            return self.base(motion.frame), self.base(motion.carries[0])
        part = self.nodes[name]
        assert isinstance(part, Part) and part.mirror is not None
        own, image = (*self.base(part.parent), *self._own(name)), self._image(part, part.mirror)
        return (image, own) if part.mirror.turned else (own, image)

    def local(self, letter: Letter, setting: Setting) -> Pose:
        """What one step does, as drawn; of a joint, at a setting."""
        kind, name = letter
        if kind == "node":
            place = self.place(name)
            return place.shift @ place.turn
        if kind == "joint":
            return self._joint(name, setting)
        if kind == "rest":
            return IDENTITY
        if kind in ("mirror", "flip"):
            return _flipped(self._axis(name))
        turn, zero = (self.pose(word, {}) for word in self.parents(letter))
        return Pose(turn.rotation, zero.translation)

    def _axis(self, image: str) -> int:
        part = self.nodes[image]
        assert isinstance(part, Part) and part.mirror is not None
        return part.mirror.axis

    def place(self, node: str) -> _Place:
        """Where a node stands in what it hangs on; of an image, where its source does."""
        if node in self._put:
            return self._put[node]
        if (source := self._source(node)) is not None:
            return self.place(source)
        if node not in self._places:
            self._places[node] = self._stands(node)
        return self._places[node]

    def _stands(self, node: str) -> _Place:
        part = self.nodes[node]
        if self._mirrored(part):
            return _placed(np.zeros(3), np.eye(3))  # the image of what is mixed: its place is in that letter
        return _placed(np.array(part.at), turn_matrix(part.turn))

    def _source(self, node: str) -> str | None:
        """The part whose place an image shows."""
        part = self.nodes[node]
        if not self._mirrored(part) or self.base(node)[-1][0][0] != "flip":
            return None
        assert isinstance(part, Part) and part.mirror is not None
        source = part.mirror.of
        return source if (("node", source), 1) in self.base(source) else None

    def _joint(self, name: str, setting: Setting) -> Pose:
        motion = self.scene.motions[name]
        count = len(self.motions.drives[name])
        values, piece = setting.get(name, (np.zeros(count), 0))
        if name not in setting and not motion.placed_at:
            return IDENTITY
        return self.motions.in_frame(name, values - motion.placed_at, piece)

    def pose(self, word: Word, setting: Setting) -> Pose:
        """Where a chain ends, as drawn, at a setting."""
        pose = IDENTITY
        for letter, sense in word:
            step = self.local(letter, setting)
            pose = pose @ (step if sense > 0 else step.inverse())
        return pose


def _placed(at: Floats, rotation: Floats) -> _Place:
    return _Place(Pose(IDENTITY.rotation, frozen(at)), Pose(frozen(rotation), IDENTITY.translation))


def _flipped(axis: int) -> Pose:
    flip = np.eye(3)
    flip[axis, axis] = -1.0
    return Pose(frozen(flip), IDENTITY.translation)
