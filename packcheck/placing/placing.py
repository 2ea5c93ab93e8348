"""Where everything stands: chains of frames and parts resolved to poses in the car, shapes made into solids."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Matrix3, Point, Points, frozen
from packcheck.errors import Fault, MeshError, SourceMark
from packcheck.frames import IDENTITY, Pose
from packcheck.replacing import Stamp, stamp
from packcheck.scene.model.scene import CAR, Anchor, Frame, Mesh, Part, Scene, Shape, SolidSpec
from packcheck.solids.core.solid import Solid
from packcheck.solids.lining import lined as with_lining
from packcheck.solids.meshes.files import MeshAccount, read_mesh
from packcheck.solids.primitives import build_shape, shape_corners, shape_reach

__all__ = ["SolidMaker", "Stock", "poses"]

_Key: TypeAlias = tuple[tuple[SolidSpec, ...], float, bool, int | None]


def poses(scene: Scene) -> dict[str, Pose]:
    """The pose in the car of every frame and part, by name.

    The scene has no loops (the loader saw to it), and parts placed by faces are settled (`faces.settled`).
    """
    nodes: Mapping[str, Frame | Part] = {**scene.frames, **scene.parts}
    found: dict[str, Pose] = {CAR: IDENTITY}
    for name in nodes:
        _resolve(name, nodes, found)
    return found


def _resolve(name: str, nodes: Mapping[str, Frame | Part], found: dict[str, Pose]) -> None:
    waiting = [name]
    while waiting:
        node = nodes.get(waiting[-1])
        if node is None or waiting[-1] in found:
            waiting.pop()
        elif node.parent not in found:
            waiting.append(node.parent)
        else:
            found[waiting.pop()] = found[node.parent] @ Pose.of(node.at, node.turn)


@dataclass(slots=True)
class Stock:
    """Solids made and meshes read so far, with the `stamps` of the files at the time."""

    built: dict[Shape, tuple[Solid, ...]] = field(default_factory=dict)
    made: dict[_Key, tuple[Solid, ...]] = field(default_factory=dict)
    read: dict[Mesh, tuple[tuple[Solid, ...], MeshAccount] | MeshError] = field(default_factory=dict)
    stamps: dict[Mesh, Stamp] = field(default_factory=dict)

    def drop_changed(self) -> int:
        """Forget what was made of files that are not what they were; how many meshes that were."""
        changed = {mesh for mesh, seen in self.stamps.items() if stamp(mesh.file) != seen}
        for mesh in changed:
            del self.stamps[mesh]
            self.read.pop(mesh, None)
        for key in [key for key in self.made if any(spec.shape in changed for spec in key[0])]:
            del self.made[key]
        return len(changed)


class SolidMaker:
    """Makes the solids of parts, each distinct shape once, and keeps the account of every mesh read.

    A mesh that cannot be used is kept in `faults`, with the mark of the part that asked for it. A `stock` hands
    solids on to the next maker, so that what did not change is the same object there.
    """

    def __init__(self, *, use_cache: bool = True, stock: Stock | None = None) -> None:
        self.accounts: dict[str, list[MeshAccount]] = {}
        self.faults: list[Fault] = []
        self._use_cache = use_cache
        self._stock = stock or Stock()
        self._made, self._read = self._stock.made, self._stock.read

    def solids(self, part: Part) -> tuple[Solid, ...]:
        """The solids of `part` in its own frame; none when one of its meshes could not be read."""
        shapes = [self._shape(spec, part) for spec in part.solids]
        if not all(shapes):
            return ()
        flipped = _flipped(part)
        specs = tuple(replace(spec, mark=None) for spec in part.solids)
        key = (specs, part.wrap, bool(part.faces or part.mirror), flipped)
        if key not in self._made:
            made = _composed(part.solids, shapes, part.wrap)
            self._made[key] = made if flipped is None else tuple(solid.mirrored(flipped) for solid in made)
        return self._made[key]

    def extents(self, part: Part, rotation: Matrix3, *, lined: bool = False) -> Floats:
        """Least and greatest coordinates (2, 3), mm, of `part` turned by `rotation` about its own zero.

        Its true surface, without the wrap, and without linings unless `lined`. All its solids could be made.
        """
        ways = np.vstack([-np.eye(3), np.eye(3)]) @ rotation
        if (flipped := _flipped(part)) is not None:
            ways[:, flipped] *= -1.0
        reach = np.max([self._reach(spec, ways, lined=lined) for spec in part.solids], axis=0).reshape(2, 3)
        return np.array([-reach[0], reach[1]])

    def _reach(self, spec: SolidSpec, ways: Points, *, lined: bool) -> Floats:
        shape, pose = spec.shape, _spec_pose(spec, self._made_of(spec.shape))
        if lined and spec.lining:
            shape, pose = with_lining(shape, spec.lining)[0], _lined_pose(spec)
        reach: Floats = shape_reach(shape, self._made_of(shape), ways @ pose.rotation) + ways @ pose.translation
        return reach

    def shapes(self, part: Part) -> tuple[tuple[SolidSpec, Pose, tuple[Solid, ...]], ...]:
        """Each shape of `part`, its pose in the part's own frame, and its solids before they are put there.

        The pose reflects where the part is a mirror image.
        """
        flip = np.ones(3)
        if (flipped := _flipped(part)) is not None:
            flip[flipped] = -1.0
        image = Pose(frozen(np.diag(flip)), IDENTITY.translation)
        made = ((spec, self._made_of(spec.shape)) for spec in part.solids)
        return tuple((spec, image @ _spec_pose(spec, solids), solids) for spec, solids in made)

    def _made_of(self, shape: Shape) -> tuple[Solid, ...]:
        if not isinstance(shape, Mesh):
            return self._built(shape)
        outcome = self._mesh(shape)
        return () if isinstance(outcome, MeshError) else outcome[0]

    def _shape(self, spec: SolidSpec, part: Part) -> tuple[Solid, ...]:
        if not isinstance(spec.shape, Mesh):
            return self._built(with_lining(spec.shape, spec.lining)[0])
        outcome = self._mesh(spec.shape)
        if isinstance(outcome, MeshError):
            self.faults += [_placed_fault(fault, spec.mark or part.mark) for fault in outcome.faults]
            return ()
        solids, account = outcome
        self.accounts.setdefault(part.name, []).append(account)
        return tuple(_stretched(solid, account.stretch, spec, part) for solid in solids)

    def _built(self, shape: Shape) -> tuple[Solid, ...]:
        if shape not in self._stock.built:
            self._stock.built[shape] = build_shape(shape)
        return self._stock.built[shape]

    def _mesh(self, shape: Mesh) -> tuple[tuple[Solid, ...], MeshAccount] | MeshError:
        if shape not in self._read:
            self._stock.stamps[shape] = stamp(shape.file)
            try:
                loaded = read_mesh(shape, use_cache=self._use_cache)
                self._read[shape] = (loaded.solid,), loaded.account
            except MeshError as error:
                self._read[shape] = error
        return self._read[shape]


def _flipped(part: Part) -> int | None:
    """The axis (0, 1, 2) along which the solids of a part are those of a mirror image, if they are."""
    return part.mirror.axis if part.mirror and part.mirror.shaped else None


def _placed_fault(fault: Fault, mark: SourceMark | None) -> Fault:
    return Fault(mark or fault.mark, fault.what, fault.why, fault.mend)


def _stretched(solid: Solid, share: float, spec: SolidSpec, part: Part) -> Solid:
    """`solid` with the error that an unsure scale makes at its farthest point from where it is held."""
    if not share:
        return solid
    low, high = shape_corners(spec.shape, (solid,))
    held = np.array([low, high]) if part.faces or part.mirror else _anchor(spec, (solid,))[None]
    farthest = max(float(np.linalg.norm(np.maximum(high - point, point - low))) for point in held)
    return replace(solid, error=solid.error + share * farthest, support=None)


def _composed(specs: Sequence[SolidSpec], shapes: Sequence[tuple[Solid, ...]], wrap: float) -> tuple[Solid, ...]:
    made: list[Solid] = []
    for spec, solids in zip(specs, shapes, strict=True):
        place = _spec_pose(spec, solids) if spec.lining is None else _lined_pose(spec)
        still = place.translation.any() or spec.turn != (0.0, 0.0, 0.0)
        made += [(solid.placed(place) if still else solid).wrapped(wrap) for solid in solids]
    return tuple(made)


def _spec_pose(spec: SolidSpec, solids: tuple[Solid, ...]) -> Pose:
    """The pose of a shape in its part's own frame."""
    return Pose.of(spec.at, spec.turn) @ Pose(IDENTITY.rotation, frozen(-_anchor(spec, solids)))


def _lined_pose(spec: SolidSpec) -> Pose:
    """The pose of a shape with its lining, whose anchor is that of the bare shape."""
    step = with_lining(spec.shape, spec.lining)[1]
    return _spec_pose(spec, build_shape(spec.shape)) @ Pose(IDENTITY.rotation, frozen(step))


def _anchor(spec: SolidSpec, solids: tuple[Solid, ...]) -> Point:
    """The point (3,) of the shape, in its own coordinates, that `at` places."""
    if spec.anchor == "origin":
        return np.zeros(3)
    return _corner(spec.anchor, shape_corners(spec.shape, solids))


def _corner(anchor: Anchor, corners: Points) -> Point:
    shares = np.array([{"min": 0.0, "mid": 0.5, "max": 1.0}[end] for end in anchor])
    point: Point = corners[0] + shares * (corners[1] - corners[0])
    return point
