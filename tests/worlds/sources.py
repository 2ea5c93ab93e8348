"""What of a scene is not known? Every source of doubt with its set, and the displacements that it allows.

    ball    any rigid move of a node that takes no point of its reach farther than t; of a part the surface as well,
            the two together never more than t
    box     a shift within a box along the axes of what the node stands in
    likely  shift and turn about the node's own zero, with a covariance, axes of what it stands in

A *move* is a shift (3,) and a turn vector (3,) radians about the node's own zero, along the axes of what the node
stands in (of an image: of what its source stands in, reflected). A *skin* is a shift (3,) of the surface, own axes,
and how far it grows; less than zero shrinks it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

import numpy as np

from tests.oracles.shapes import Array, Pose
from tests.worlds.pieces import Piece, corners
from tests.worlds.scene import Scene

__all__ = ["Kind", "Move", "Skin", "Source", "World", "deformed", "rotated", "sources_of"]

Kind: TypeAlias = Literal["ball", "box", "likely", "shape"]


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """Where a node truly stands: `shift` (3,) mm and `turn` (3,) radians off where it is drawn."""

    shift: Array
    turn: Array


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """Where the surface of a part truly lies: shifted by `shift` (3,) mm, own axes, and grown by `grow` mm."""

    shift: Array
    grow: float


@dataclass(frozen=True, slots=True, eq=False)
class World:
    """What is true in one world: moves and skins by node. A node without one stands as drawn."""

    moves: Mapping[str, Move] = field(default_factory=dict)
    skins: Mapping[str, Skin] = field(default_factory=dict)

    def without(self, source: Source) -> World:
        """The same world but for one source."""
        if source.kind == "shape":
            return replace(self, skins={name: skin for name, skin in self.skins.items() if name != source.node})
        return replace(self, moves={name: move for name, move in self.moves.items() if name != source.node})


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One source of doubt of a node. `size` is a radius (1,), half edges (3,) or standard deviations (6,)."""

    node: str
    kind: Kind
    size: Array


def sources_of(scene: Scene) -> list[Source]:
    """Every source of a scene. The shape of a part is one of its own, beside its place."""
    found = []
    for name, node in scene.nodes.items():
        if node.box is not None and node.box.any():
            found.append(Source(name, "box", node.box))
        elif node.ball > 0:
            found.append(Source(name, "ball", np.array([node.ball])))
            if node.pieces is not None:
                found.append(Source(name, "shape", np.array([node.ball])))
        if node.likely is not None:
            found.append(Source(name, "likely", np.r_[node.likely.shift, node.likely.turn]))
    return found


def rotated(turn: Array) -> Array:
    """The rotation (3, 3) of a turn vector (3,), radians."""
    angle = float(np.linalg.norm(turn))
    if angle == 0.0:
        return np.eye(3)
    x, y, z = turn / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    matrix: Array = np.eye(3) + np.sin(angle) * cross + 2 * np.sin(angle / 2) ** 2 * (cross @ cross)
    return matrix


SHRINK = {"box": np.sqrt(3.0), "cylinder": np.sqrt(2.0), "sphere": 1.0, "capsule": 1.0, "tube": np.sqrt(2.0)}
"""How far, at most, a point of the surface goes where every face goes in by 1."""


def deformed(pieces: tuple[Piece, ...], skin: Skin) -> tuple[Piece, ...]:
    """The true pieces of a part, no point of whose surface is farther off than |shift| + |grow|."""
    return tuple(_deformed(piece, skin) for piece in pieces)


def _deformed(piece: Piece, skin: Skin) -> Piece:
    pose = piece.pose.shifted(skin.shift)
    if skin.grow >= 0:
        return replace(piece, pose=pose, wrap=piece.wrap + skin.grow)
    inward = -skin.grow / SHRINK[piece.form]
    match piece.form:
        case "box":
            size = tuple(max(edge - 2 * inward, 1e-3) for edge in piece.size)
        case "cylinder":
            size = tuple(max(edge - inward, 1e-3) for edge in piece.size)
        case "tube":
            outer, inner, half = piece.size
            size = (outer - inward, min(inner + inward, outer - inward - 1e-3), max(half - inward, 1e-3))
        case _:
            size = (max(piece.size[0] - inward, 1e-3), *piece.size[1:])
    return replace(piece, pose=pose, size=size)


def off(move: Move, stand: Pose, zero: Array) -> Pose:
    """A move as a rigid displacement of points of the car; `stand` is what the node stands in, `zero` its own."""
    turn = rotated(stand.rotation @ move.turn * np.linalg.det(stand.rotation))
    return Pose(turn, zero + stand.rotation @ move.shift - turn @ zero)


def hull_of(scene: Scene, name: str) -> Array:
    """Corners (n, 3) of a part, own frame."""
    pieces = scene.nodes[name].pieces
    assert pieces is not None
    return corners(pieces)
