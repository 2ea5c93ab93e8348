"""Of which plain shapes is a part? Convex pieces of its own frame, and tubes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import numpy as np

from tests.oracles.shapes import Array, Pose, along_matrix
from tests.worlds.numbers import Axes, length, point, turn_of

__all__ = ["FORMS", "Form", "Piece", "corners", "extents", "pieces_of"]

Form: TypeAlias = Literal["box", "cylinder", "sphere", "capsule", "tube"]
FORMS: tuple[Form, ...] = ("box", "cylinder", "sphere", "capsule", "tube")


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One shape along its own z at `pose` in its part, grown by `wrap` mm.

    `size` is: box (x, y, z); cylinder (radius, half length); sphere (radius,); capsule (radius, half of its middle
    line); tube (outer radius, inner radius, half length).
    """

    form: Form
    size: tuple[float, ...]
    pose: Pose
    wrap: float = 0.0


def pieces_of(given: Mapping[str, Any], axes: Axes) -> tuple[Piece, ...]:
    """The pieces of a part. One shape is anchored at its middle, or where `anchor` says."""
    wrap = length(given.get("wrap", 0), axes)
    if "solids" in given:
        return tuple(_piece(solid, wrap, axes) for solid in given["solids"])
    if not set(FORMS) & set(given):
        raise ValueError("a part without a shape that the tests read")
    bare = {key: value for key, value in given.items() if key in FORMS or key == "anchor"}
    return (_piece(bare, wrap, axes),)


def _piece(given: Mapping[str, Any], wrap: float, axes: Axes) -> Piece:
    (form,) = set(FORMS) & set(given)
    size, turn = _size(form, given[form], axes)
    place = Pose(turn_of(given.get("turn")), point(given.get("at", [0, 0, 0]), axes))
    piece = Piece(form, size, Pose(turn))
    low, high = extents((piece,), np.eye(3))
    shares = np.array([{"min": 0.0, "mid": 0.5, "max": 1.0}[end] for end in given.get("anchor", ["mid"] * 3)])
    return Piece(piece.form, size, place @ Pose(turn, -(low + shares * (high - low))), wrap)


def _size(form: str, given: Any, axes: Axes) -> tuple[tuple[float, ...], Array]:
    """Sizes, and the turn that lays the shape's own z where it lies."""
    if form == "box":
        return tuple(length(value, axes) for value in given), np.eye(3)
    sizes = {key: length(value, axes) for key, value in given.items() if key != "along"}
    turn = along_matrix(given.get("along", "z"))
    match form:
        case "cylinder":
            return (sizes["diameter"] / 2, sizes["length"] / 2), turn
        case "sphere":
            return (sizes["diameter"] / 2,), turn
        case "capsule":
            return (sizes["diameter"] / 2, (sizes["length"] - sizes["diameter"]) / 2), turn
    return (sizes["outer"] / 2, sizes["inner"] / 2, sizes["length"] / 2), turn


def half_box(piece: Piece) -> Array:
    """Half of the edges (3,) of the box round a piece along its own axes, without its wrap."""
    match piece.form:
        case "box":
            return np.array(piece.size) / 2
        case "cylinder":
            radius, half = piece.size
            return np.array([radius, radius, half])
        case "sphere":
            return np.full(3, piece.size[0])
        case "capsule":
            radius, half = piece.size
            return np.array([radius, radius, radius + half])
    return np.array([piece.size[0], piece.size[0], piece.size[2]])


def corners(pieces: Sequence[Piece]) -> Array:
    """Corners (8 n, 3) of the boxes round the pieces with their wraps, own frame of the part."""
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
    return np.vstack([piece.pose.apply(signs * (half_box(piece) + piece.wrap)) for piece in pieces])


def extents(pieces: Sequence[Piece], turn: Array) -> tuple[Array, Array]:
    """Least and greatest coordinates (3,) of the pieces turned by `turn`, without their wraps; exact."""
    lows, highs = zip(*(_spread(piece, turn) for piece in pieces), strict=True)
    return np.min(lows, axis=0), np.max(highs, axis=0)


def _spread(piece: Piece, turn: Array) -> tuple[Array, Array]:
    world = Pose(turn) @ piece.pose
    axis = world.rotation[:, 2]
    across = np.sqrt(np.maximum(1 - axis**2, 0.0))
    match piece.form:
        case "box":
            half = np.abs(world.rotation) @ (np.array(piece.size) / 2)
        case "sphere":
            half = np.full(3, piece.size[0])
        case "capsule":
            half = piece.size[0] + np.abs(axis) * piece.size[1]
        case _:
            half = across * piece.size[0] + np.abs(axis) * piece.size[-1]
    return world.translation - half, world.translation + half
