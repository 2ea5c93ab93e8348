"""Where the nodes of a GLB scene put their meshes, all in the frame of the scene.

The mesh library takes minutes over a chain of a few hundred nodes, so it is handed none.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from packcheck.arrays import Floats
from packcheck.solids.formats.gate import RefusedError

__all__ = ["PlacedMesh", "placed_meshes", "whole_number"]

_PLACING: Final = {"matrix": 16, "translation": 3, "rotation": 4, "scale": 3}
_BAKE: Final = "apply all deformations and export plain, uncompressed meshes"

Json = dict[str, Any]


class PlacedMesh(NamedTuple):
    """A mesh by its number, its matrix (4, 4) for column vectors, and the name of the node it hangs on."""

    mesh: int
    matrix: Floats
    name: str


def placed_meshes(nodes: list[Json], roots: list[int]) -> list[PlacedMesh]:
    """Every node below `roots` that has a mesh, in the order of the file.

    Raises
    ------
    RefusedError
        When a node is reached twice, or deforms or repeats its mesh in a way that is not read.
    """
    seen: set[int] = set()
    placed = []
    stack = [(root, np.eye(4)) for root in reversed(roots)]
    while stack:
        place, outer = stack.pop()
        if place in seen:
            raise RefusedError("has nodes that hang on each other in a circle, or on two others")
        seen.add(place)
        node = nodes[place]
        with np.errstate(all="ignore"):  # wild numbers are found among the vertices they make
            matrix = outer @ _own_matrix(node)
        if "mesh" in node:
            placed.append(PlacedMesh(whole_number(node["mesh"]), matrix, str(node.get("name", ""))))
        stack += [(whole_number(child), matrix) for child in reversed(node.get("children", []))]
    return placed


_AFFINE: Final = (0.0, 0.0, 0.0, 1.0)
"""The last row of a matrix that keeps straight lines parallel."""


def _own_matrix(node: Json) -> Floats:
    """The node in its parent: its matrix, then translation, rotation and scale, as far as it has them."""
    if "skin" in node:
        raise RefusedError("holds a skinned mesh", mend=_BAKE)
    if "EXT_mesh_gpu_instancing" in node.get("extensions", {}):
        raise RefusedError("holds instanced meshes", mend=_BAKE)
    matrix = np.eye(4)
    if "matrix" in node:
        matrix = _numbers(node, "matrix").reshape(4, 4).T
        if not np.array_equal(matrix[3], _AFFINE):
            raise RefusedError(
                "has a node whose matrix is a perspective: its last row is not 0, 0, 0, 1", mend=_BAKE
            )
    for key, make in (("translation", _shifted), ("rotation", _rotated), ("scale", _scaled)):
        if key in node:
            matrix = matrix @ make(_numbers(node, key))
    return matrix


def _numbers(node: Json, key: str) -> Floats:
    numbers = np.array([float(x) for x in node[key]])
    if len(numbers) != _PLACING[key]:
        raise RefusedError(f"has a node whose {key} has {len(numbers)} numbers, needed {_PLACING[key]}")
    return numbers


def _shifted(by: Floats) -> Floats:
    matrix = np.eye(4)
    matrix[:3, 3] = by
    return matrix


def _scaled(by: Floats) -> Floats:
    return np.diag([*by, 1.0])


def _rotated(quaternion: Floats) -> Floats:
    """Matrix of a quaternion x, y, z, w, whatever its length but nothing."""
    length = float(np.linalg.norm(quaternion))
    if not length > 0:
        raise RefusedError("has a node whose rotation is a quaternion of no length: it turns no way", mend=_BAKE)
    x, y, z, w = quaternion / length
    matrix = np.eye(4)
    matrix[:3, :3] = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return matrix


def whole_number(value: Any) -> int:
    """A whole number from 0, as JSON has it; ValueError for anything else."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{value!r:.40} where a whole number must be")
    return value
