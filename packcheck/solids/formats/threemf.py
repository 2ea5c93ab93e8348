"""3MF: a ZIP archive with an XML model. Sizes are checked before anything is unpacked.

The model is read here and not by the mesh library, because that library gives every object of a split model
(production extension) the triangles of the whole part file.
"""

from __future__ import annotations

import zipfile
import zlib
from io import BytesIO
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.formats.gate import (
    MAX_BYTES,
    MAX_TEXT_BYTES,
    MAX_TRIANGLES,
    RawMesh,
    RefusedError,
    existing,
    expect_content,
)
from packcheck.solids.formats.numbers import floats, integers
from packcheck.solids.formats.threemf_model import Content, Model, Reference, model_of

__all__ = ["read_3mf"]

_MAX_RATIO: Final = 200
"""Unpacked over packed. Deflate reaches about 20 on the text of a mesh; a bomb 1000."""

_MAX_MEMBERS: Final = 1000
_MAX_COPIES: Final = 100_000
_MAX_DEPTH: Final = 32
_MAIN: Final = "3d/3dmodel.model"
_UNITS: Final = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in"}
_OTHER_UNITS: Final = ("micron", "foot")
"""Units that the format has besides. Source: 3MF Core Specification, ST_Unit (from memory)."""

_BROKEN_ZIP: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    RuntimeError,
    NotImplementedError,
    ValueError,
)


def read_3mf(data: bytes) -> RawMesh:
    """Triangles of everything that a 3MF file builds, placed as it places them, in its own unit."""
    expect_content(data, ".3mf", "a ZIP archive")
    models = {name: model_of(text) for name, text in _parts(data).items()}
    if _MAIN not in models:
        raise RefusedError("holds no 3D model (3D/3dmodel.model)")
    main = models[_MAIN]
    if main.unit not in (*_UNITS, *_OTHER_UNITS):
        raise RefusedError(f"states the unit {main.unit[:20]!r}, which 3MF does not have", mend="export it in mm")
    bodies = _Built(models).bodies(main.items)
    starts = np.cumsum([0, *(len(vertices) for _, vertices, _ in bodies)])
    return RawMesh(
        "3MF",
        np.concatenate([np.zeros((0, 3)), *(vertices for _, vertices, _ in bodies)]),
        np.concatenate(
            [np.zeros((0, 3), np.int64), *(f + s for (_, _, f), s in zip(bodies, starts, strict=False))]
        ),
        unit=_UNITS.get(main.unit, main.unit),
        names=tuple(name for name, _, _ in bodies),
        body=np.repeat(np.arange(len(bodies)), [len(faces) for _, _, faces in bodies]),
    )


def _parts(data: bytes) -> dict[str, bytes]:
    """The XML models of the archive by lower-case name; nothing else is unpacked."""
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            members = archive.infolist()
            _check_members(members)
            models = [member for member in members if member.filename.lower().endswith(".model")]
            texts = {member.filename.lower().lstrip("/"): archive.read(member) for member in models}
    except _BROKEN_ZIP as error:
        raise RefusedError(f"is a broken ZIP archive ({error})") from None
    if len(texts) != len(models):
        raise RefusedError("holds two parts of one name")
    return texts


def _check_members(members: list[zipfile.ZipInfo]) -> None:
    """Refuse a bomb by the sizes it declares; unpacking stops at those."""
    packed, unpacked = sum(m.compress_size for m in members), sum(m.file_size for m in members)
    text = sum(m.file_size for m in members if m.filename.lower().endswith(".model"))
    if len(members) > _MAX_MEMBERS or unpacked > MAX_BYTES or text > MAX_TEXT_BYTES:
        raise RefusedError(
            f"would unpack to {unpacked / 2**20:.0f} MiB in {len(members)} parts, "
            f"the most is {MAX_TEXT_BYTES / 2**20:.0f} MiB of model"
        )
    worst = max((m.file_size / max(m.compress_size, 1) for m in members if m.file_size > 1 << 16), default=0.0)
    if worst > _MAX_RATIO:
        raise RefusedError(
            f"unpacks to {worst:.0f} times its size ({packed / 2**20:.1f} to {unpacked / 2**20:.0f} MiB), "
            f"the most is {_MAX_RATIO}",
            why="no mesh packs that well; such files are made to exhaust memory",
        )


class _Built:
    """Follows build items through components to meshes, keeping count."""

    def __init__(self, models: dict[str, Model]) -> None:
        self._models = models
        self._meshes: dict[tuple[str, str], tuple[Points, Faces]] = {}
        self._copies = 0
        self._size = 0

    def bodies(self, items: list[Reference]) -> list[tuple[str, Points, Faces]]:
        """Name and surface of every mesh that the items reach, placed, wound outward again where mirrored."""
        placed = []
        stack = [(item, _MAIN, np.eye(4)[:, :3], 0) for item in reversed(items)]
        while stack:
            reference, home, outer, depth = stack.pop()
            path = reference.path.lower().lstrip("/") or home
            content = self._content(path, reference.object)
            matrix = _chained(_matrix(reference.transform), outer)
            self._count(content, depth)
            stack += [(inner, path, matrix, depth + 1) for inner in reversed(content.components)]
            if content.triangles:
                vertices, faces = self._mesh(path, reference.object)
                faces = faces[:, ::-1] if np.linalg.det(matrix[:3]) < 0 else faces
                placed.append((content.name, vertices @ matrix[:3] + matrix[3], faces))
        return placed

    def _content(self, path: str, name: str) -> Content:
        try:
            return self._models[path].objects[name]
        except KeyError:
            raise RefusedError(f"builds an object it does not hold (object {name} of {path})") from None

    def _count(self, content: Content, depth: int) -> None:
        self._copies += 1
        self._size += max(len(content.triangles), len(content.vertices)) // 3
        if self._copies > _MAX_COPIES or depth > _MAX_DEPTH or self._size > MAX_TRIANGLES:
            raise RefusedError("builds objects out of each other without end", mend="export it as one plain mesh")

    def _mesh(self, path: str, name: str) -> tuple[Points, Faces]:
        if (path, name) not in self._meshes:
            content = self._content(path, name)
            vertices = floats(_encoded(content.vertices), "vertices").reshape(-1, 3)
            faces = integers(_encoded(content.triangles), "triangles").reshape(-1, 3)
            self._meshes[path, name] = vertices, existing(faces, len(vertices))
        return self._meshes[path, name]


def _encoded(words: list[str]) -> list[bytes]:
    return [word.encode(errors="replace") for word in words]


def _matrix(transform: str) -> Floats:
    """(4, 3), for row vectors with a 1 behind: the order in which the file lists it."""
    if not transform:
        return np.eye(4)[:, :3]
    numbers = floats(transform.encode().split(), "a transform")
    if len(numbers) != 12:
        raise RefusedError(f"has a transform of {len(numbers)} numbers, needed 12")
    return numbers.reshape(4, 3)


def _chained(inner: Floats, outer: Floats) -> Floats:
    """First `inner`, then `outer`."""
    with np.errstate(all="ignore"):  # wild numbers are found among the vertices they make
        chained: Floats = inner @ outer[:3]
        chained[3] += outer[3]
    return chained
