"""Writes a triangle mesh in five formats, the same bytes every time: no date, no library name, no locale.

Vertices come in mm. GLB is in metres, as its specification wants; the others say nothing of units.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

__all__ = ["write"]

Points = npt.NDArray[np.float64]
Faces = npt.NDArray[np.int64]


def write(file: Path, vertices: Points, faces: Faces) -> None:
    """Write `vertices` (n, 3) mm and `faces` (m, 3) in the format that the ending of `file` names."""
    file.write_bytes(_FORMATS[file.suffix](vertices, faces))


def _stl(vertices: Points, faces: Faces) -> bytes:
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    rows = np.zeros(len(faces), dtype=[("numbers", "<f4", 12), ("spare", "<u2")])
    rows["numbers"] = np.hstack([normals, corners.reshape(-1, 9)])
    return b"packcheck demo mesh, mm".ljust(80) + struct.pack("<I", len(faces)) + rows.tobytes()


def _obj(vertices: Points, faces: Faces) -> bytes:
    points = [f"v {x:.2f} {y:.2f} {z:.2f}" for x, y, z in vertices]
    triangles = [f"f {a} {b} {c}" for a, b, c in faces + 1]
    return _lines("# packcheck demo mesh, mm", *points, *triangles)


def _off(vertices: Points, faces: Faces) -> bytes:
    points = [f"{x:.2f} {y:.2f} {z:.2f}" for x, y, z in vertices]
    triangles = [f"3 {a} {b} {c}" for a, b, c in faces]
    return _lines("OFF", f"{len(vertices)} {len(faces)} 0", *points, *triangles)


def _ply(vertices: Points, faces: Faces) -> bytes:
    header = _lines(
        "ply",
        "format binary_little_endian 1.0",
        "comment packcheck demo mesh, mm",
        f"element vertex {len(vertices)}",
        *(f"property float {axis}" for axis in "xyz"),
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    )
    rows = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    rows["count"], rows["corners"] = 3, faces
    return header + vertices.astype("<f4").tobytes() + rows.tobytes()


def _glb(vertices: Points, faces: Faces) -> bytes:
    points, corners = (vertices / 1000).astype("<f4"), faces.astype("<u4")
    low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    size, whole = points.nbytes, points.nbytes + corners.nbytes
    scene = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(points), "type": "VEC3", "min": low, "max": high},
            {"bufferView": 1, "componentType": 5125, "count": corners.size, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": size},
            {"buffer": 0, "byteOffset": size, "byteLength": whole - size},
        ],
        "buffers": [{"byteLength": whole}],
    }
    text = json.dumps(scene, separators=(",", ":")).encode()
    chunks = _chunk(b"JSON", text + b" " * (-len(text) % 4)) + _chunk(
        b"BIN\0", points.tobytes() + corners.tobytes()
    )
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack("<I4s", len(data), kind) + data


def _lines(*lines: str) -> bytes:
    return "\n".join([*lines, ""]).encode("ascii")


_FORMATS: dict[str, Callable[[Points, Faces], bytes]] = {
    ".stl": _stl,
    ".obj": _obj,
    ".off": _off,
    ".ply": _ply,
    ".glb": _glb,
}
