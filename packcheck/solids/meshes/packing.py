"""A mesh once understood as plain arrays, to be kept on disk or handed from one process to another."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.solids.meshes.account import LoadedMesh, MeshAccount

__all__ = ["BROKEN", "packed", "unpacked"]

BROKEN: Final = (ValueError, LookupError, TypeError)
"""What `unpacked` raises when arrays are not those of a mesh."""


def packed(loaded: LoadedMesh) -> dict[str, npt.NDArray[Any]]:
    """The arrays that hold a mesh, with what is said of it as text."""
    solid = loaded.solid
    flags = {name: getattr(solid, name) for name in ("radius", "error", "closed", "open_surface")}
    facts: dict[str, Any] = {"solid": flags, "convex": solid.convex, "account": asdict(loaded.account)}
    whole: dict[str, npt.NDArray[Any]] = {}
    if solid.whole:
        facts["whole_error"] = solid.whole.error
        whole = {"whole_vertices": solid.whole.vertices, "whole_faces": solid.whole.faces.astype(np.int32)}
    return whole | {
        "vertices": solid.vertices,
        "faces": solid.faces.astype(np.int32),
        "pieces": np.zeros((0, 3)) if solid.pieces is None else solid.pieces,
        "facts": np.frombuffer(json.dumps(facts).encode(), dtype=np.uint8),
    }


def unpacked(entry: Mapping[str, npt.NDArray[Any]]) -> LoadedMesh:
    """A mesh from its arrays, believed only as far as they can be checked.

    Raises one of `BROKEN` when they are not those of a mesh.
    """
    vertices, faces = _surface(entry, "")
    pieces = frozen(entry["pieces"])
    if pieces.shape[1] != 3:
        raise ValueError("pieces are no points")
    facts = json.loads(entry["facts"].tobytes())
    account: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value for key, value in facts["account"].items()
    }
    support = polyhedron_support(vertices) if facts["convex"] else None
    solid = Solid(vertices, faces, support=support, pieces=pieces, **facts["solid"])
    if "whole_vertices" in entry:
        said = facts["solid"] | {"error": facts["whole_error"]}
        solid = replace(solid, whole=Solid(*_surface(entry, "whole_"), pieces=pieces, **said))
    return LoadedMesh(solid, MeshAccount(**account))


def _surface(entry: Mapping[str, npt.NDArray[Any]], which: str) -> tuple[Points, Faces]:
    vertices, faces = frozen(entry[f"{which}vertices"]), frozen_faces(entry[f"{which}faces"])
    if not (vertices.shape[1] == faces.shape[1] == 3 and np.isfinite(vertices).all()):
        raise ValueError("vertices or faces are none")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise ValueError("faces of vertices that are not there")
    return vertices, faces
