"""GLB: one file with everything in it. Only what makes the surface is handed on."""

from __future__ import annotations

import json
import struct
from typing import Any, Final

from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content
from packcheck.solids.formats.glb_plain import plain_tree
from packcheck.solids.formats.library import through_trimesh

__all__ = ["json_of", "read_glb", "with_json"]

_JSON: Final = 0x4E4F534A
_BIN: Final = 0x004E4942
_MAX_JSON: Final = 1 << 26  # thousands of bodies take a few MiB


def read_glb(data: bytes) -> RawMesh:
    """Triangles of the default scene of a GLB file, every body where its nodes put it, as written (metres)."""
    expect_content(data, ".glb", "GLB")
    text, binary = _chunks(data)
    plain = plain_tree(_parsed(text), len(binary))
    vertices, faces, body = through_trimesh(_packed(plain.tree, binary), "glb", triangles=plain.triangles)
    return RawMesh("GLB", vertices, faces, unit="m", remarks=plain.remarks, names=plain.names, body=body)


def json_of(data: bytes) -> dict[str, Any]:
    """What a GLB file says of what it holds."""
    return _parsed(_chunks(data)[0])


def with_json(data: bytes, tree: dict[str, Any]) -> bytes:
    """A GLB file that says `tree` of what it holds."""
    return _packed(tree, _chunks(data)[1])


def _chunks(data: bytes) -> tuple[bytes, bytes]:
    """The JSON chunk and the binary chunk ("" when there is none), when all lengths add up."""
    if len(data) < 20:
        raise RefusedError(f"is cut short: {len(data)} bytes")
    _, version, length = struct.unpack_from("<4sII", data)
    if version != 2:
        raise RefusedError(f"is GLB version {version}, needed 2")
    if length != len(data):
        raise RefusedError(f"does not add up: its header promises {length} bytes, got {len(data)}")
    chunks: dict[int, bytes] = {}
    place = 12
    while place < length:
        if place + 8 > length:
            raise RefusedError("is cut short within a chunk")
        size, kind = struct.unpack_from("<II", data, place)
        if place + 8 + size > length:
            raise RefusedError("is cut short within a chunk")
        chunks.setdefault(kind, data[place + 8 : place + 8 + size])
        place += 8 + size
    if _JSON not in chunks:
        raise RefusedError("has no JSON chunk")
    return chunks[_JSON], chunks.get(_BIN, b"")


def _parsed(text: bytes) -> dict[str, Any]:
    if len(text) > _MAX_JSON:
        raise RefusedError(f"has {len(text) / 2**20:.0f} MiB of JSON, the most is {_MAX_JSON / 2**20:.0f} MiB")
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise RefusedError(f"has a broken JSON chunk ({str(error)[:80]})") from None
    if not isinstance(tree, dict):
        raise RefusedError("has a JSON chunk that is not an object")
    return tree


def _packed(tree: dict[str, Any], binary: bytes) -> bytes:
    """A GLB file of `tree` and `binary`, chunks padded to four bytes."""
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    chunks = struct.pack("<II", len(text), _JSON) + text + struct.pack("<II", len(binary), _BIN) + binary
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks
