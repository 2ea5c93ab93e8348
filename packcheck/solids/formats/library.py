"""The one way to the mesh library: bytes that were gated before, counts that are checked after."""

from __future__ import annotations

import re
import warnings
from io import BytesIO
from typing import Any, Final

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.solids.formats.gate import RefusedError, existing

__all__ = ["through_trimesh"]

_NUMBER: Final = re.compile(r"b(\d+)(?:_|$)")


def through_trimesh(data: bytes, file_type: str, *, triangles: int) -> tuple[Points, Faces, Faces]:
    """Vertices (n, 3), faces (m, 3) of all bodies, placed as the file places them, and body of each face (m,).

    File units. Bodies whose geometry is named b0, b1, ... keep that number; others are all number 0.
    Nothing outside `data` can be reached, because no resolver is given; a warning counts as a failure,
    because a half-read row of numbers only warns.

    Raises
    ------
    RefusedError
        When the library fails, or returns another number of triangles than the gate counted.
    """
    import trimesh

    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("error")
            scene = trimesh.load_scene(BytesIO(data), file_type=file_type, process=False)
            bodies = sorted((_placed(scene, node) for node in scene.graph.nodes_geometry), key=lambda body: body[0])
    except Exception as error:  # whatever the parser trips over, the file is at fault and is named
        raise RefusedError(f"cannot be understood ({type(error).__name__}: {_first_line(error)})") from error
    vertices = [vertices for _, vertices, _ in bodies]
    starts = np.cumsum([0, *map(len, vertices)])
    faces = [
        existing(faces, len(points)) + start for (_, points, faces), start in zip(bodies, starts, strict=False)
    ]
    counts = [len(rows) for rows in faces]
    if sum(counts) != triangles:
        raise RefusedError(f"does not add up: {triangles} triangles written, {sum(counts)} understood")
    return (
        np.concatenate([np.zeros((0, 3)), *vertices]),
        np.concatenate([np.zeros((0, 3), dtype=np.int64), *faces]),
        np.repeat(np.array([number for number, *_ in bodies], dtype=np.int64), counts),
    )


def _placed(scene: Any, node: str) -> tuple[int, Points, Faces]:
    """One body and its number, where its node stands; a mirroring node turns the winding back."""
    matrix, name = scene.graph[node]
    body = scene.geometry[name]
    vertices = np.asarray(body.vertices, dtype=np.float64)
    faces = np.asarray(body.faces, dtype=np.int64).reshape(-1, 3)
    if not np.array_equal(matrix, np.eye(4)):
        vertices = np.einsum("ni,ji->nj", vertices, matrix[:3, :3]) + matrix[:3, 3]
    number = _NUMBER.match(str(name))
    turned = faces[:, ::-1] if np.linalg.det(matrix[:3, :3]) < 0 else faces
    return int(number[1]) if number else 0, vertices, turned


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or ["no reason given"])[0][:120]
