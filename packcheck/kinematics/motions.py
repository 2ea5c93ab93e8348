r"""From the scene's motions to chains of joints: who moves, driven by what, and what acts together.

Everything that hangs on what a motion carries goes along, so that motions stack: a lever on a rocking engine rocks
and swings. Parts that were measured open (`placed_at`) are put where the motion is at 0 first; that is where they
stand at rest, and where a motion stands while it does not act.

Motions of one state (`driving`, `service`) act at the same time, every combination of them; one with `together:
false` acts alone. Of a pair of parts only those motions count that carry one of the two and not the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise, product

import numpy as np

from packcheck.arrays import Floats, Point, Vector, frozen
from packcheck.frames import IDENTITY, Pose, angle_of, sines_of, turn_matrix
from packcheck.kinematics.acts import Act, Drive, alone, drives_of, used
from packcheck.kinematics.joints import Chain, Joint, about_line, carried
from packcheck.scene.model.motion import FullTurn, Hinge, Motion, Rock, Travel
from packcheck.scene.model.motion import Path as MotionPath
from packcheck.scene.model.scene import Frame, Part, Scene
from packcheck.search import Cell

__all__ = ["Act", "Drive", "Motions", "at_rest"]

_RADIANS = np.pi / 180


def at_rest(scene: Scene, drawn: Mapping[str, Pose]) -> dict[str, Pose]:
    """The poses of frames and parts, from those `drawn`, once every motion stands at 0."""
    if not any(motion.placed_at for motion in scene.motions.values()):
        return dict(drawn)
    motions = Motions(scene, drawn)
    return {name: motions.undone(name) @ pose for name, pose in drawn.items()}


class Motions:
    """The motions of a scene, `drawn` being the poses in the car of every frame and part as the file has them."""

    def __init__(self, scene: Scene, drawn: Mapping[str, Pose]) -> None:
        self._scene, self._drawn = scene, drawn
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self.drives = {name: drives_of(motion) for name, motion in scene.motions.items()}
        self._carrying: dict[str, tuple[str, ...]] = {}

    def carrying(self, node: str) -> tuple[str, ...]:
        """The motions that carry a part or frame, outermost first. Asked of every pair, so remembered."""
        if node not in self._carrying:
            self._carrying[node] = self._found_carrying(node)
        return self._carrying[node]

    def _found_carrying(self, node: str) -> tuple[str, ...]:
        outward: list[str] = []
        while node in self._nodes:
            outward += [name for name, motion in self._scene.motions.items() if node in motion.carries]
            node = self._nodes[node].parent
        return tuple(dict.fromkeys(reversed(outward)))

    @cached_property
    def acts(self) -> tuple[Act, ...]:
        """What acts together: for each state its motions; each motion that acts alone; the use of each room."""
        motions = self._scene.motions.values()
        states = dict.fromkeys(motion.during for motion in motions)
        together = [
            Act(state, tuple(motion.name for motion in motions if motion.during == state and motion.together))
            for state in states
        ]
        by_itself = [alone(motion) for motion in motions if not motion.together]
        rooms = [used(part) for part in self._scene.parts.values() if part.held]
        return tuple(act for act in (*together, *by_itself, *rooms) if act.motions)

    def undone(self, node: str) -> Pose:
        """What takes a part or frame from where it is drawn to where it is at rest."""
        return self._undone(self.carrying(node))

    def _undone(self, motions: Sequence[str]) -> Pose:
        pose = IDENTITY
        for name in motions:
            motion = self._scene.motions[name]
            if motion.placed_at:
                (joint,) = self._joints(motion, 0)
                pose = pose @ joint.pose(np.array([-motion.placed_at]))
        return pose

    def chain(self, node: str, motions: Sequence[str], drives: Sequence[Drive], piece: Mapping[str, int]) -> Chain:
        """The joints of `motions` (outermost first, all carrying `node`), driven by the places of their `drives`.

        `piece` says of each path on which straight piece it is.
        """
        joints: list[Joint] = []
        outer = self.carrying(node)
        for name in motions:
            first = next(k for k, drive in enumerate(drives) if drive.motion == name)
            rest = self._undone(outer[: outer.index(name)])
            made = self._joints(self._scene.motions[name], first, piece.get(name, 0))
            joints += [_put(joint, rest) for joint in made]
        return tuple(joints)

    def chain_at(self, node: str, motion: str, setting: Floats) -> Chain:
        """The joints of one motion of a part or frame that hold at a setting (k,) of its parameters."""
        drives = self.drives[motion]
        for cell, piece in self.roots(drives):
            if (setting >= cell.low).all() and (setting <= cell.high).all():
                return self.chain(node, (motion,), drives, piece)
        raise ValueError(f"no such setting of {motion}: {setting}")

    def in_frame(self, name: str, values: Floats, piece: int = 0) -> Pose:
        """What a motion does at values (k,) of its parameters, seen from the frame its line is given in.

        A path that turns about what it carries is seen from the zero of that, with the axes of the frame.
        """
        return carried(tuple(self._joints(self._scene.motions[name], 0, piece, IDENTITY)), values)

    def strides(self, name: str, values: Floats, halves: Floats, piece: int = 0) -> tuple[float, float]:
        """How far a motion goes anywhere within `halves` (k,) of `values`: the chords of its turns, mm at 1 mm from
        their lines, added up; and its shifts, mm.
        """
        motion = self._scene.motions[name]
        joints = self._joints(motion, 0, piece, IDENTITY)
        driven = [(joint, joint.drive) for joint in joints if joint.drive is not None]
        wide = [(joint.point is not None, abs(joint.rate) * float(halves[drive])) for joint, drive in driven]
        if isinstance(motion.movement, MotionPath):
            about = np.array(motion.movement.about or (0.0, 0.0, 0.0))
            there = carried(tuple(joints), values)
            gone = [(True, angle_of(there.rotation)), (False, float(np.linalg.norm(there.apply(about) - about)))]
            gone = [(turns, at + sum(more for kind, more in wide if kind == turns)) for turns, at in gone]
        else:
            ways = [abs(joint.rate * float(values[drive])) for joint, drive in driven]
            gone = [(turns, at + more) for (turns, more), at in zip(wide, ways, strict=True)]
        chords = sum(2 * float(np.sin(min(at, np.pi) / 2)) for turns, at in gone if turns)
        return chords, sum(at for turns, at in gone if not turns)

    def quarters(self, name: str) -> Iterator[Pose]:
        """A quarter, a half and three quarters round every line that a motion turns things about, in its frame."""
        match self._scene.motions[name].movement:
            case Hinge(point=point, axis=axis) | FullTurn(point=point, axis=axis):
                lines = [(np.array(point), np.array(axis))]
            case Rock(about=about, turn=turn):
                lines = [(np.array(about), np.eye(3)[k]) for k, some in enumerate(turn) if some]
            case _:
                lines = []
        for on, way in lines:
            for count in (1, 2, 3):
                yield about_line(on, way, count * np.pi / 2)

    def widths(self, name: str, halves: Floats, piece: int = 0) -> tuple[float, float]:
        """How far a motion goes within `halves` (k,) of a setting: turns, radians, and shifts, mm, added up."""
        joints = self._joints(self._scene.motions[name], 0, piece, IDENTITY)
        wide = [(j.point is not None, abs(j.rate) * float(halves[j.drive])) for j in joints if j.drive is not None]
        return sum(at for turns, at in wide if turns), sum(at for turns, at in wide if not turns)

    def centre(self, name: str) -> Point:
        """A point (3,) mm that the lines of a motion's turns go through, in the frame they are given in."""
        match self._scene.motions[name].movement:
            case Hinge(point=point) | FullTurn(point=point):
                return np.array(point)
            case Rock(about=about):
                return np.array(about)
            case MotionPath(about=about):
                return np.array(about or (0.0, 0.0, 0.0))
            case _:
                return np.zeros(3)

    def _joints(self, motion: Motion, first: int, piece: int = 0, seen: Pose | None = None) -> list[Joint]:
        """The joints of one motion as drawn, outermost first, the parameters counted from `first`.

        Along the axes of the car, or `seen` from another frame.
        """
        frame = self._drawn[motion.frame] if seen is None else seen
        match motion.movement:
            case Hinge(point=point, axis=axis) | FullTurn(point=point, axis=axis):
                return [_turn(first, frame, np.array(point), np.array(axis))]
            case Travel(by=by):
                return [_shift(first, frame, np.array(by))]
            case Rock() as rock:
                return list(_rocking(rock, frame, first))
            case MotionPath() as path:
                carried_zero = self._drawn[motion.carries[0]].translation if seen is None else seen.translation
                about = frame.apply(np.array(path.about)) if path.about else carried_zero
                return _on_path(path, frame, about, first, piece)

    def roots(self, drives: Sequence[Drive]) -> Iterator[tuple[Cell, dict[str, int]]]:
        """The cells that hold every setting of `drives`, and for each on which piece of its path a motion is."""
        cuts = []
        for drive in drives:
            stops = np.arange(drive.low, drive.high + 1) if drive.unit == "stop" else [drive.low, drive.high]
            cuts.append(list(pairwise(stops)))
        for ends in product(*cuts):
            low, high = zip(*ends, strict=True)
            pieces = {d.motion: int(at) - 1 for d, at in zip(drives, low, strict=True) if d.unit == "stop"}
            yield Cell.of(low, high), pieces

    def between(self, a: str, b: str, act: Act) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The motions of an act that carry part `a` and not `b`, and the other way round, outermost first."""
        mine, others = ([m for m in self.carrying(part) if m in act.motions] for part in (a, b))
        while mine and others and mine[0] == others[0]:
            del mine[0], others[0]
        return tuple(mine), tuple(others)


def _put(joint: Joint, pose: Pose) -> Joint:
    """A joint whose line is carried by `pose`."""
    if pose is IDENTITY:
        return joint
    point = None if joint.point is None else frozen(pose.apply(joint.point))
    held = pose @ joint.held @ pose.inverse()
    return Joint(joint.drive, frozen(pose.rotate(joint.axis)), joint.rate, point, held)


def _turn(drive: int, frame: Pose, point: Point, axis: Vector) -> Joint:
    return Joint(drive, frozen(frame.rotate(axis)), _RADIANS, frozen(frame.apply(point)))


def _shift(drive: int, frame: Pose, by: Vector) -> Joint:
    return Joint(drive, frozen(frame.rotate(by)), 1.0)


def _rocking(rock: Rock, frame: Pose, first: int) -> Iterator[Joint]:
    """Shifts outermost, then the turns about z, y and x: a point is turned about x first."""
    turns = [axis for axis in range(3) if rock.turn[axis] is not None]
    shifts = [axis for axis in range(3) if rock.shift[axis] is not None]
    for place, axis in enumerate(shifts):
        yield _shift(first + len(turns) + place, frame, np.eye(3)[axis])
    for place, axis in reversed(list(enumerate(turns))):
        yield _turn(first + place, frame, np.array(rock.about), np.eye(3)[axis])


def _on_path(path: MotionPath, frame: Pose, about: Point, drive: int, piece: int) -> list[Joint]:
    """Piece `piece` of a path: from one stop to the next, the parameter being the number of the stop, from 1.

    The straight way outermost; then the even turn, about `about` as the first stop has it; then that stop itself,
    taken back by as much as the parameter is already at there.
    """
    start, end = path.stops[piece], path.stops[piece + 1]
    shift = frame.rotate(np.subtract(end.at, start.at))
    step = turn_matrix(end.turn) @ turn_matrix(start.turn).T
    axis, angle = _axis_and_angle(frame.rotation @ step @ frame.rotation.T)
    begin = Pose(IDENTITY.rotation, frozen(frame.rotate(np.array(start.at))))
    turned = frame.rotation @ turn_matrix(start.turn) @ frame.rotation.T
    stop = begin @ Pose(frozen(turned), frozen(about - turned @ about))
    centre = frozen(about + frame.rotate(np.array(start.at)))
    before = float(piece + 1)
    joints: list[Joint] = []
    length = float(np.linalg.norm(shift))
    if length > 0:
        way = frozen(shift / length)
        joints += [_held(Pose(IDENTITY.rotation, frozen(-shift * before))), Joint(drive, way, length)]
    if angle > 0:
        joints += [_held(about_line(centre, axis, -angle * before)), Joint(drive, axis, angle, centre)]
    return [*joints, _held(stop)]


def _held(pose: Pose) -> Joint:
    return Joint(None, frozen(np.array([1.0, 0.0, 0.0])), 0.0, None, pose)


def _axis_and_angle(rotation: Floats) -> tuple[Vector, float]:
    """The unit axis and the angle, radians in [0, pi), of a rotation (3, 3)."""
    sines = sines_of(rotation)
    sine = float(np.linalg.norm(sines))
    if sine < 1e-12:
        return frozen(np.array([1.0, 0.0, 0.0])), 0.0
    return frozen(sines / sine), angle_of(rotation)
