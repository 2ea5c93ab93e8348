"""Valid mesh files of every format, and ways to spoil them."""

from __future__ import annotations

import json
import re
import struct
from collections.abc import Callable
from random import Random
from typing import Any, Final

import numpy as np

from tests.solids import step_curved
from tests.solids.mesh_bytes import (
    WRITERS,
    Body,
    as_ascii_ply,
    as_obj,
    as_off,
    as_ply,
    ball,
    box,
    glb_tree,
    grid,
    joined,
    model_xml,
    packed_glb,
    torus,
    turned,
    zipped,
)
from tests.solids.step_curved import Assembled, Placing, assembly_file, cone, of_solid, pillow, ring
from tests.solids.step_files import cylinder, prism, step_file

__all__ = ["spoilt"]

_L: Final = np.array(
    [[x, y, z] for z in (0, 5) for x, y in ((0, 0), (40, 0), (40, 20), (20, 20), (20, 30), (0, 30))]
)
_L_FACES: Final = [
    [5, 4, 3, 2, 1, 0],
    [6, 7, 8, 9, 10, 11],
    *([k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k] for k in range(6)),
]
_BODIES: Final[tuple[Body, ...]] = (
    box(),
    joined(box((100, 100, 100)), turned(box((40, 40, 40)))),
    joined(box(), turned(box(at=(100, 0, 0))), box((1, 2, 3), at=(3, 3, 3))),
    torus(sides=12, rounds=8),
    ball(50, 6, 8),
    grid(lambda x, y: np.stack([x, y, 0.01 * x * y], axis=1), 5, 5),
)
_POLYGONS: Final[dict[str, Callable[[Any], bytes]]] = {
    "part.obj": as_obj,
    "ascii.ply": as_ascii_ply,
    "little.ply": as_ply,
    "part.off": as_off,
}
_TREE: Final = glb_tree(
    box(),
    [
        {"children": [1, 2], "translation": [0, 0, 5]},
        {"mesh": 0, "rotation": [0, 0, 0.6, 0.8]},
        {"mesh": 0, "scale": [-1, 1, 1], "translation": [50, 0, 0]},
    ],
)
_LID: Final = Assembled("lid", "in", solids=[prism("lid", [(0, 0), (2, 0), (2, 1)], 0.5)])
_ASSEMBLY: Final = Assembled(
    "pair", "mm", placed=[Placing(_LID, (0, 0, 0), name="one"), Placing(_LID, (9, 0, 90), (30, 0, 90), "other")]
)
_STEP: Final = (
    step_file([prism("bracket", [(0, 0), (40, 0), (40, 20), (20, 20), (20, 30), (0, 30)], 5)], "in"),
    step_file([cylinder("pin", 20, 50), prism("lid", [(0, 0), (40, 0), (40, 20)], 5, (100, 0, 0))]),
    *(
        of_solid(one)
        for one in (step_curved.ball("b", 8), cone("c", 9, 4, 20), ring("r", 20, 5), pillow("p", 30, 9, (3, -2)))
    ),
    assembly_file(_ASSEMBLY),
)
_MODEL: Final = model_xml(
    box(),
    "inch",
    '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 7"/><item objectid="1"/>',
    '<object id="2"><components><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 50 0 0"/></components>'
    "</object>",
)
_WORDS: Final = tuple(
    b"0 -1 1 2 3 8 99 -99 1e9 1e30 1e300 1e-300 -0 nan inf 1,5 1_0 0x10 4294967295 2147483648 -2147483649 1e400 "
    b"99999999999999999999 5.0.1 face vertex solid endsolid facet f v list uchar double int element property "
    b"end_header OFF glTF PK null true [] {} / // \\ # \" ' < > & ; &a; <!DOCTYPE ../../x".split()
)
_LEAVES: Final[tuple[Any, ...]] = (
    None, True, 0, -1, 1, 2, 3, 7, 10**9, 10**400, 2**31, 2**63, 1.5, 1e300, "", "x", "VEC3", "SCALAR", "MAT4", [],
    {}, [0], [1, 2], 5120, 5121, 5123, 5125, 5126, float("nan"), float("inf"),
)  # fmt: skip


def spoilt(random: Random) -> tuple[str, bytes]:
    """A file name and what is left of a valid file of that format."""
    name, data = _valid(random)
    if name.endswith(".glb") and random.random() < 0.6:
        tree, binary = json.loads(json.dumps(_TREE[0])), _TREE[1]
        for _ in range(random.randint(1, 3)):
            _spoil_tree(tree, random)
        return name, packed_glb(tree, binary)
    if name.endswith(".3mf") and random.random() < 0.7:
        return name, zipped({"3D/3dmodel.model": _spoilt_bytes(_MODEL.encode(), random)})
    return name, _spoilt_bytes(data, random)


def _valid(random: Random) -> tuple[str, bytes]:
    if random.random() < 0.1:
        return "part.step", random.choice(_STEP)
    if random.random() < 0.2:
        name = random.choice(sorted(_POLYGONS))
        return name, _POLYGONS[name]((_L, _L_FACES))
    name = random.choice(sorted(WRITERS))
    return name, WRITERS[name](random.choice(_BODIES))


def _spoilt_bytes(data: bytes, random: Random) -> bytes:
    for _ in range(random.choice((1, 1, 2, 4, 16))):
        data = random.choice(_WAYS)(data, random)
    return data


def _place(data: bytes, random: Random) -> int:
    """Anywhere, but often within the header."""
    most = min(len(data), 400) if random.random() < 0.4 else len(data)
    return random.randrange(most + 1)


def _one_byte(data: bytes, random: Random) -> bytes:
    at = _place(data, random)
    return data[:at] + random.randbytes(1) + data[at + 1 :]


def _one_bit(data: bytes, random: Random) -> bytes:
    if not data:
        return data
    at = min(_place(data, random), len(data) - 1)
    return data[:at] + bytes([data[at] ^ 1 << random.randrange(8)]) + data[at + 1 :]


def _cut_off(data: bytes, random: Random) -> bytes:
    return data[: _place(data, random)]


def _cut_out(data: bytes, random: Random) -> bytes:
    at = _place(data, random)
    return data[:at] + data[at + random.choice((1, 2, 4, 12, 50, 200)) :]


def _put_in(data: bytes, random: Random) -> bytes:
    at = _place(data, random)
    return data[:at] + random.randbytes(random.choice((1, 2, 4, 12, 50))) + data[at:]


def _repeat(data: bytes, random: Random) -> bytes:
    at = _place(data, random)
    return data[:at] + data[at : at + random.choice((1, 4, 50, 400))] * random.choice((2, 3, 20)) + data[at:]


def _number(data: bytes, random: Random) -> bytes:
    at = _place(data, random)
    value = random.choice((0, 1, 2, 3, 255, 65535, 2**31 - 1, 2**31, 2**32 - 1, len(data), random.getrandbits(32)))
    return data[:at] + struct.pack(random.choice("<>") + "I", value) + data[at + 4 :]


def _wild_float(data: bytes, random: Random) -> bytes:
    at = 84 + 50 * random.randrange(12) + 12 + 4 * random.randrange(9)
    value = random.choice((float("nan"), float("inf"), 1e-45, 3e38, -0.0, 1e30, 1e-30, random.uniform(-100, 100)))
    return data[:at] + struct.pack("<f", value) + data[at + 4 :]


def _word(data: bytes, random: Random) -> bytes:
    """Another word, or number, for one of those in the text."""
    words = list(re.finditer(rb"[^\s\"=<>,:\[\]{}]+", data[: 1 << 16]))
    if not words:
        return data
    here = random.choice(words[:40] if random.random() < 0.4 else words)
    return data[: here.start()] + random.choice(_WORDS) + data[here.end() :]


def _lines(data: bytes, random: Random) -> bytes:
    """Lines dropped, doubled or swapped."""
    lines = data.split(b"\n")
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    match random.randrange(3):
        case 0:
            del lines[min(one, other) : min(one, other) + random.choice((1, 1, 3, 20))]
        case 1:
            lines[one:one] = [lines[other]]
        case _:
            lines[one], lines[other] = lines[other], lines[one]
    return b"\n".join(lines)


_WAYS: Final = (
    _one_byte,
    _one_bit,
    _cut_off,
    _cut_out,
    _put_in,
    _repeat,
    _number,
    _wild_float,
    _word,
    _word,
    _word,
    _lines,
    _lines,
)


def _spoil_tree(tree: Any, random: Random) -> None:
    """Change, drop or move one value somewhere in a tree of dicts and lists."""
    inner = tree
    while True:
        keys = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
        if not keys:
            return
        key = random.choice(keys)
        if isinstance(inner[key], (dict, list)) and inner[key] and random.random() < 0.85:
            inner = inner[key]
            continue
        match random.randrange(4):
            case 0:
                del inner[key]
            case 1 if isinstance(inner, list):
                inner.extend(json.loads(json.dumps(inner)) * random.choice((1, 1, 50)))
            case _:
                inner[key] = random.choice(_LEAVES)
        return
