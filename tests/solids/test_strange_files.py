"""Files that state what their format does not have: refused by name, not read as something else."""

from __future__ import annotations

from pathlib import Path

import pytest

import packcheck
from packcheck.errors import MeshError
from tests.solids.mesh_bytes import as_3mf, as_ascii_stl, as_glb, box

PERSPECTIVE = [1, 0, 0, 0.5, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]
HALVED = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 2]


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("a.3mf", as_3mf(box(), unit="parsec"), "the unit 'parsec'"),
        ("a.3mf", as_3mf(box(), unit=""), "the unit ''"),
        ("a.glb", as_glb(box(), ({"mesh": 0, "matrix": PERSPECTIVE},)), "a perspective"),
        ("a.glb", as_glb(box(), ({"mesh": 0, "matrix": HALVED},)), "a perspective"),
        ("a.glb", as_glb(box(), ({"mesh": 0, "rotation": [0, 0, 0, 0]},)), "of no length"),
        (
            "a.stl",
            as_ascii_stl(box())[:200] + b"\0" + as_ascii_stl(box())[200:],
            "an ASCII STL with a NUL byte in line",
        ),
    ],
)
def test_what_a_format_does_not_have_is_refused(name: str, data: bytes, why: str, tmp_path: Path) -> None:
    """Oracle: the formats: a unit of a closed list; affine matrices; rotations that turn; text without NUL."""
    file = tmp_path / name
    file.write_bytes(data)
    with pytest.raises(MeshError, match=why):
        packcheck.look(file)


def test_a_quaternion_of_any_other_length_turns(tmp_path: Path) -> None:
    """Oracle: closed form. Half a turn about z and a length of 2 leave a box of its own size."""
    file = tmp_path / "a.glb"
    file.write_bytes(as_glb(box(), ({"mesh": 0, "rotation": [0, 0, 2, 0]},)))
    assert packcheck.look(file).triangles == 12
