"""Small surfaces, and writers of every mesh format that share no code with the readers under test."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.scene.model.scene import Mesh

__all__ = [
    "WRITERS",
    "Body",
    "as_3mf",
    "as_ascii_ply",
    "as_ascii_stl",
    "as_glb",
    "as_obj",
    "as_off",
    "as_ply",
    "as_stl",
    "ball",
    "box",
    "grid",
    "joined",
    "model_xml",
    "packed_glb",
    "spec_of",
    "torus",
    "turned",
    "zipped",
]

Body = tuple[Points, Faces]

_BOX_FACES: Final = (
    (0, 3, 1), (0, 2, 3), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4),
    (2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5),
)  # fmt: skip


def box(size: Sequence[float] = (10, 20, 30), at: Sequence[float] = (0, 0, 0)) -> Body:
    """Twelve triangles wound outward, 8 vertices, centre `at`."""
    corners = np.array([[x, y, z] for z in (-0.5, 0.5) for y in (-0.5, 0.5) for x in (-0.5, 0.5)])
    return corners * np.array(size, dtype=float) + np.array(at, dtype=float), np.array(_BOX_FACES, dtype=np.int64)


def ball(radius: float = 50.0, rings: int = 24, sides: int = 48) -> Body:
    """A sphere of meridians and parallels, wound outward, poles as single vertices."""
    heights = np.linspace(0, np.pi, rings + 1)[1:-1]
    rounds = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    flat = [[np.sin(h) * np.cos(r), np.sin(h) * np.sin(r), np.cos(h)] for h in heights for r in rounds]
    vertices = radius * np.array([*flat, [0, 0, 1], [0, 0, -1]])
    top, bottom = len(flat), len(flat) + 1
    faces = []
    for k in range(sides):
        after = (k + 1) % sides
        faces.append((top, k, after))
        last = (rings - 2) * sides
        faces.append((bottom, last + after, last + k))
        for ring in range(rings - 2):
            a, b, c, d = (ring * sides + s for s in (k, after, sides + k, sides + after))
            faces += [(a, c, b), (b, c, d)]
    return vertices, np.array(faces, dtype=np.int64)


def torus(major: float = 60.0, minor: float = 20.0, sides: int = 100, rounds: int = 50) -> Body:
    """A ring of 2 * sides * rounds triangles, wound outward, about z."""
    u = np.repeat(np.linspace(0, 2 * np.pi, sides, endpoint=False), rounds)
    v = np.tile(np.linspace(0, 2 * np.pi, rounds, endpoint=False), sides)
    reach = major + minor * np.cos(v)
    vertices = np.stack([reach * np.cos(u), reach * np.sin(u), minor * np.sin(v)], axis=1)
    here = np.arange(sides * rounds).reshape(sides, rounds)
    a, b, c, d = here, np.roll(here, -1, 0), np.roll(here, -1, 1), np.roll(here, (-1, -1), (0, 1))
    faces = np.concatenate([np.stack([a, b, d], -1).reshape(-1, 3), np.stack([a, d, c], -1).reshape(-1, 3)])
    return vertices, faces


def grid(shape: Callable[[Floats, Floats], Points], across: int = 20, along: int = 20, size: float = 100.0) -> Body:
    """An open sheet over the square [0, size] x [0, size]: `shape` maps x and y to points (n, 3); wound x to y."""
    x, y = np.meshgrid(np.linspace(0, size, across + 1), np.linspace(0, size, along + 1), indexing="ij")
    here = np.arange(x.size).reshape(x.shape)
    a, b, c, d = here[:-1, :-1], here[1:, :-1], here[:-1, 1:], here[1:, 1:]
    faces = np.concatenate([np.stack([a, b, d], -1).reshape(-1, 3), np.stack([a, d, c], -1).reshape(-1, 3)])
    return shape(x.ravel(), y.ravel()), faces


def turned(body: Body) -> Body:
    """The same triangles wound the other way."""
    return body[0], body[1][:, ::-1]


def joined(*bodies: Body) -> Body:
    """Several bodies in one, vertices kept apart."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in bodies)])
    faces = [faces + start for (_, faces), start in zip(bodies, starts, strict=False)]
    return np.concatenate([vertices for vertices, _ in bodies]), np.concatenate(faces)


def as_stl(body: Body, header: bytes = b"") -> bytes:
    vertices, faces = body
    triangles = (struct.pack("<12fH", 0, 0, 0, *vertices[face].ravel(), 0) for face in faces)
    return header.ljust(80, b" ") + struct.pack("<I", len(faces)) + b"".join(triangles)


def as_ascii_stl(body: Body, name: str = "part") -> bytes:
    vertices, faces = body
    lines = [f"solid {name}"]
    for face in faces:
        lines += ["facet normal 0 0 0", "outer loop"]
        lines += [f"vertex {x!r} {y!r} {z!r}" for x, y, z in vertices[face].tolist()]
        lines += ["endloop", "endfacet"]
    return "\n".join([*lines, f"endsolid {name}", ""]).encode()


def as_obj(body: tuple[Points, Sequence[Sequence[int]] | Faces], head: str = "") -> bytes:
    """Faces may be polygons, corners counted from 0."""
    vertices, faces = body
    lines = [f"v {x!r} {y!r} {z!r}" for x, y, z in np.asarray(vertices).tolist()]
    lines += ["f " + " ".join(str(int(corner) + 1) for corner in face) for face in faces]
    return (head + "\n".join(lines) + "\n").encode()


def as_off(body: tuple[Points, Sequence[Sequence[int]] | Faces]) -> bytes:
    vertices, faces = body
    lines = ["OFF", f"{len(vertices)} {len(faces)} 0"]
    lines += [f"{x!r} {y!r} {z!r}" for x, y, z in np.asarray(vertices).tolist()]
    lines += [" ".join(map(str, (len(face), *map(int, face)))) for face in faces]
    return ("\n".join(lines) + "\n").encode()


def _ply_head(kind: str, vertices: int, faces: int) -> str:
    return (
        f"ply\nformat {kind} 1.0\nelement vertex {vertices}\n"
        "property double x\nproperty double y\nproperty double z\n"
        f"element face {faces}\nproperty list uchar int vertex_indices\nend_header\n"
    )


def as_ascii_ply(body: tuple[Points, Sequence[Sequence[int]] | Faces]) -> bytes:
    vertices, faces = body
    lines = [f"{x!r} {y!r} {z!r}" for x, y, z in np.asarray(vertices).tolist()]
    lines += [" ".join(map(str, (len(face), *map(int, face)))) for face in faces]
    return (_ply_head("ascii", len(vertices), len(faces)) + "\n".join(lines) + "\n").encode()


def as_ply(body: tuple[Points, Sequence[Sequence[int]] | Faces], order: str = "<") -> bytes:
    vertices, faces = body
    kind = "binary_little_endian" if order == "<" else "binary_big_endian"
    rows = [struct.pack(f"{order}3d", *vertex) for vertex in np.asarray(vertices).tolist()]
    rows += [struct.pack(f"{order}B{len(face)}i", len(face), *map(int, face)) for face in faces]
    return _ply_head(kind, len(vertices), len(faces)).encode() + b"".join(rows)


def glb_tree(body: Body, nodes: Sequence[Mapping[str, Any]] = ({"mesh": 0},)) -> tuple[dict[str, Any], bytes]:
    """JSON tree and binary chunk of one mesh; the first node is the root of the scene."""
    vertices, faces = body
    points, corners = vertices.astype("<f4").tobytes(), faces.astype("<u4").tobytes()
    tree = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [dict(node) for node in nodes],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(vertices), "type": "VEC3"},
            {"bufferView": 1, "componentType": 5125, "count": faces.size, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": len(points)},
            {"buffer": 0, "byteOffset": len(points), "byteLength": len(corners)},
        ],
        "buffers": [{"byteLength": len(points) + len(corners)}],
    }
    return tree, points + corners


def packed_glb(tree: Mapping[str, Any] | bytes, binary: bytes) -> bytes:
    text = tree if isinstance(tree, bytes) else json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(binary), b"BIN\0") + binary
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def as_glb(body: Body, nodes: Sequence[Mapping[str, Any]] = ({"mesh": 0},)) -> bytes:
    return packed_glb(*glb_tree(body, nodes))


def model_xml(body: Body, unit: str = "millimeter", build: str = '<item objectid="1"/>', more: str = "") -> str:
    """A 3MF model with `body` as object 1, further objects `more`, and the items `build`."""
    vertices, faces = body
    points = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in vertices.tolist())
    corners = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist())
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><model unit="{unit}" xmlns="{space}" '
        'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"><resources>'
        f'<object id="1"><mesh><vertices>{points}</vertices><triangles>{corners}</triangles></mesh></object>{more}'
        f"</resources><build>{build}</build></model>"
    )


def zipped(members: Mapping[str, str | bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return file.getvalue()


def as_3mf(body: Body, unit: str = "millimeter") -> bytes:
    return zipped({"[Content_Types].xml": "<Types/>", "3D/3dmodel.model": model_xml(body, unit)})


WRITERS: Final[Mapping[str, Callable[[Body], bytes]]] = {
    "binary.stl": as_stl,
    "ascii.stl": as_ascii_stl,
    "part.obj": as_obj,
    "ascii.ply": as_ascii_ply,
    "little.ply": as_ply,
    "big.ply": lambda body: as_ply(body, ">"),
    "part.off": as_off,
    "part.glb": as_glb,
    "part.3mf": as_3mf,
}
"""By a file name with the right ending."""


def spec_of(folder: Path, name: str, data: bytes, **said: Any) -> Mesh:
    """What the scene says of a file `name` in `folder` that holds `data`; mm unless `said` otherwise."""
    file = folder / name
    file.write_bytes(data)
    return replace(Mesh(file, 1.0, "mm"), **said)
