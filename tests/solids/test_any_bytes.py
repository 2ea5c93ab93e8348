"""Whatever the bytes, a mesh file gives a mesh or a refusal in words, never a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from packcheck.errors import MeshError
from packcheck.solids.formats import READERS
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.solids.mesh_bytes import WRITERS, box, joined, spec_of

WHOLE = {name: write(joined(box(), box((1, 2, 3), at=(50, 0, 0)))) for name, write in WRITERS.items()}
BEGINNINGS = {
    ".stl": [b"", b"solid x\nfacet normal 0 0 1\nouter loop\n", bytes(80) + b"\1\0\0\0"],
    ".obj": [b"", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1 1 1\n"],
    ".ply": [b"ply\n", b"ply\nformat ascii 1.0\nelement vertex 3\n", WHOLE["little.ply"][:200]],
    ".glb": [b"glTF\2\0\0\0", WHOLE["part.glb"][:200]],
    ".off": [b"OFF\n", b"OFF 3 1 0\n0 0 0\n1 0 0\n0 1 0\n"],
    ".3mf": [b"PK\3\4", WHOLE["part.3mf"][:100]],
    ".step": [b"ISO-10303-21;\n"],
    ".stp": [b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n"],
}
WORDS = st.sampled_from(
    [
        b"v",
        b"f",
        b"1",
        b"-1",
        b"0",
        b"2/3",
        b"1e9",
        b"nan",
        b"#",
        b"\n",
        b" ",
        b"\\\n",
        b"3",
        b"4",
        b"facet",
        b"vertex",
    ]
)


def outcome(name: str, data: bytes) -> LoadedMesh | MeshError:
    with tempfile.TemporaryDirectory() as folder:
        try:
            return read_mesh(spec_of(Path(folder), name, data), use_cache=False)
        except MeshError as error:
            return error


def check(result: LoadedMesh | MeshError) -> None:
    if isinstance(result, MeshError):
        assert all(fault.what for fault in result.faults)
        return
    solid = result.solid
    assert len(solid.faces)
    assert np.isfinite(solid.vertices).all()
    assert solid.faces.min() >= 0
    assert solid.faces.max() < len(solid.vertices)


@pytest.mark.parametrize("suffix", READERS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_bytes_under_any_ending_are_a_mesh_or_refused(suffix: str, data: st.DataObject) -> None:
    start = data.draw(st.sampled_from(BEGINNINGS[suffix]))
    rest = data.draw(st.binary(max_size=300) | st.lists(WORDS, max_size=60).map(b" ".join))
    check(outcome(f"a{suffix}", start + rest))


@pytest.mark.parametrize("name", WHOLE)
@settings(max_examples=60, deadline=None)
@given(place=st.integers(0, 10**6), byte=st.integers(0, 255), cut=st.booleans())
@example(place=0, byte=0, cut=True)
def test_whole_file_with_one_byte_changed_or_cut_off_there(name: str, place: int, byte: int, cut: bool) -> None:
    data = WHOLE[name]
    at = place % len(data)
    check(outcome(name, data[:at] if cut else data[:at] + bytes([byte]) + data[at + 1 :]))
