"""What must hold of a mesh file before and after it is parsed, whatever its format."""

from __future__ import annotations

import re
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NoReturn

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.solids.core.wording import counted

__all__ = [
    "MAX_BYTES",
    "MAX_TEXT_BYTES",
    "MAX_TRIANGLES",
    "RawMesh",
    "RefusedError",
    "check_finite",
    "checked",
    "content_of",
    "existing",
    "expect_content",
    "plain_text",
    "read_bytes",
    "refuse_content",
    "renaming",
]

MAX_BYTES: Final = 1 << 30
"""Largest mesh file, unpacked: 20 million triangles of a binary file."""

MAX_TEXT_BYTES: Final = 1 << 28
"""Largest text file: text takes about ten times its size while it is parsed."""

MAX_TRIANGLES: Final = 20_000_000

_FARTHEST: Final = 1e30
"""File units. Far beyond any car, far below where products of coordinates overflow."""

_BEGINNINGS: Final = (
    ("GLB", re.compile(rb"glTF")),
    ("a ZIP archive", re.compile(rb"PK\x03\x04|PK\x05\x06")),
    ("PLY", re.compile(rb"ply\s")),
    ("OFF", re.compile(rb"(?:#[^\n]*\n|\s)*(?:ST)?C?N?4?n?OFF\b")),
    ("ASCII STL", re.compile(rb"\s*solid\b", re.IGNORECASE)),
    ("a STEP model", re.compile(rb"\s*ISO-10303-21")),
    ("a web page", re.compile(rb"\s*<(?:!doctype html|html|head|body)", re.IGNORECASE)),
    ("XML", re.compile(rb"\s*<[?!\w]")),
    ("JSON", re.compile(rb"\s*[{\[]")),
    ("a pointer left by Git LFS", re.compile(rb"version https://git-lfs")),
    ("a compressed file", re.compile(rb"\x1f\x8b|BZh|\xfd7zXZ|7z\xbc\xaf|Rar!")),
    ("a PDF document", re.compile(rb"%PDF")),
    ("a picture", re.compile(rb"\x89PNG|\xff\xd8\xff|GIF8|RIFF")),
    ("OBJ", re.compile(rb"(?:#[^\n]*\n|\s)*(?:v|vn|vt|f|o|g|s|mtllib|usemtl)[ \t]")),
)
_STL_HEAD: Final = 84
"""Bytes before the triangles of a binary STL file, which has no beginning of its own but adds up."""

_SUFFIX_OF: Final = {
    "GLB": ".glb",
    "PLY": ".ply",
    "OFF": ".off",
    "ASCII STL": ".stl",
    "binary STL": ".stl",
    "OBJ": ".obj",
    "a STEP model": ".step",
}
_YOURS: Final = "see that you may read it, and that no other program holds it"
_AGAIN: Final = "export the part again, or download the file itself again"


class RefusedError(Exception):
    """Why a mesh file is refused, in the words that follow its name: `what`, then `why` and `mend`."""

    def __init__(self, what: str, *, why: str = "", mend: str = _AGAIN) -> None:
        super().__init__(what)
        self.what, self.why, self.mend = what, why, mend


@dataclass(frozen=True, slots=True, eq=False)
class RawMesh:
    """Triangles as the file has them, in file units.

    `unit` is what the file itself declares ("" when it declares none); `remarks` say what was left out; `soup`
    tells that the format repeats the corners of every triangle, so that merging them mends nothing. `names` are
    those of the bodies in the file, and `body` the number of each face's own, when it tells them apart. `error` is
    how far the triangles may lie from the true surface; `settled` means that the numbers are in mm whatever the
    scene says, because the format itself is sure of its unit. `lost` says what of the file was not understood.
    """

    format: str
    vertices: Points  # (n, 3), file units
    faces: Faces  # (m, 3)
    unit: str = ""
    remarks: tuple[str, ...] = ()
    soup: bool = False
    names: tuple[str, ...] = ()
    body: Faces | None = None  # (m,)
    error: float = 0.0  # file units
    settled: bool = False
    lost: str = ""


def read_bytes(path: Path, *, starts: str = "the scene file that names them") -> bytes:
    """The bytes of a regular file of a sane size; a folder, a pipe or a device is never opened.

    `starts` says in words from where a path goes, when there is nothing at its end.

    Raises
    ------
    RefusedError
        When there is no such file, it cannot be read, is empty or larger than `MAX_BYTES`.
    """
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            raise RefusedError("is not a file", mend="name the file itself, not the folder it is in")
        _check_size(status.st_size)
        with path.open("rb") as stream:
            data = stream.read(status.st_size + 1)  # one more shows a file that grows meanwhile
    except FileNotFoundError:
        raise RefusedError("does not exist", mend=f"paths are relative to {starts}") from None
    except (OSError, ValueError) as error:
        raise RefusedError(f"cannot be read: {getattr(error, 'strerror', None) or error}", mend=_YOURS) from None
    _check_size(len(data))
    return data


def _check_size(size: int) -> None:
    if size == 0:
        raise RefusedError("is empty (0 bytes)")
    if size > MAX_BYTES:
        raise RefusedError(
            f"is {size / 2**20:.0f} MiB, the most is {MAX_BYTES / 2**20:.0f} MiB",
            mend="simplify the mesh before exporting it",
        )


def content_of(data: bytes) -> str:
    """What the first bytes say the file holds; "" when they say nothing."""
    if len(data) > _STL_HEAD and len(data) == _STL_HEAD + 50 * int.from_bytes(data[80:84], "little"):
        return "binary STL"
    return next((name for name, pattern in _BEGINNINGS if pattern.match(data[:4096])), "")


def renaming(found: str) -> str:
    """The mend for a file that holds `found` under a name for something else; "" when that is not read."""
    right = _SUFFIX_OF.get(found)
    return f"rename it to end in {right}, if that is what it is" if right else ""


def expect_content(data: bytes, suffix: str, *formats: str) -> None:
    """Refuse bytes that do not begin as one of `formats`, saying what they look like instead."""
    found = content_of(data)
    if found not in formats:
        refuse_content(found, suffix)


def refuse_content(found: str, suffix: str) -> NoReturn:
    """Refuse a file whose name and content disagree."""
    if not found:
        raise RefusedError(f"does not begin as a {suffix} file must")
    raise RefusedError(f"is named {suffix} but holds {found}", mend=renaming(found) or _AGAIN)


def plain_text(data: bytes) -> bytes:
    """The text with one kind of line end and no byte order mark; refused when too large or not text."""
    if len(data) > MAX_TEXT_BYTES:
        raise RefusedError(
            f"is {len(data) / 2**20:.0f} MiB of text, the most is {MAX_TEXT_BYTES / 2**20:.0f} MiB",
            mend="export it in a binary format",
        )
    if b"\0" in data:
        raise RefusedError("holds binary data where text should be")
    return data.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def checked(raw: RawMesh) -> RawMesh:
    """`raw` unchanged when it holds triangles between finite, existing vertices.

    Raises
    ------
    RefusedError
        Saying how many faces or vertices are wrong and which is the first, counted from 1.
    """
    points, triangles = len(raw.vertices), len(raw.faces)
    if not triangles:
        raise RefusedError(f"holds {points} points but no faces" if points else "holds no triangles")
    if triangles > MAX_TRIANGLES:
        raise RefusedError(f"holds {triangles} triangles, the most is {MAX_TRIANGLES}", mend="simplify the mesh")
    existing(raw.faces, points)
    check_finite(raw.vertices)
    return raw


def check_finite(vertices: Points) -> None:
    """Refuse vertices that are not numbers, or so far out that products of them are none."""
    wild = np.flatnonzero(~(np.abs(vertices) < _FARTHEST).all(axis=1))
    if wild.size:
        raise RefusedError(
            f"has {counted(wild.size, 'vertex', 'vertices')} without finite coordinates (first: {wild[0] + 1})"
        )


def existing(faces: Faces, vertices: int) -> Faces:
    """`faces` unchanged, when they use only the vertices 0 to `vertices` - 1."""
    strays = np.flatnonzero(((faces < 0) | (faces >= vertices)).any(axis=1))
    if strays.size:
        raise RefusedError(
            f"has {counted(strays.size, 'face')} using vertices it does not have "
            f"(face {strays[0] + 1} asks for {faces[strays[0]].tolist()}, counted from 0, of {vertices})"
        )
    return faces
