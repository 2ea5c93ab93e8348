"""One bracket through every format, and open meshes of others: gaps agree within what each file's bound says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import trimesh

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Finding
from packcheck.frames import Pose, turn_matrix
from packcheck.proximity.pairs import Body as Prepared
from packcheck.proximity.pairs import pair_gap
from packcheck.scene.model.scene import Box, Mesh, Part, SolidSpec
from packcheck.solids.meshes.files import read_mesh
from tests.bays import part, scene
from tests.oracles.triangles import Soup, soup_distance
from tests.solids.mesh_bytes import Body, as_3mf, as_glb, as_stl, box
from tests.solids.step_files import prism, step_file

OUTLINE = [(0, 0), (60, 0), (60, 8), (8, 8), (8, 40), (0, 40)]
HEIGHT = 30.0


def bracket(scale: float = 1.0) -> Body:
    """Oracle: an L of plate, its corners by hand."""
    count = len(OUTLINE)
    low, high = (np.column_stack([OUTLINE, np.full(count, z)]) for z in (0.0, HEIGHT))
    flat = [(0, 1, 2), (0, 2, 3), (0, 3, 5), (3, 4, 5)]
    faces = [(a, c, b) for a, b, c in flat] + [(a + 6, b + 6, c + 6) for a, b, c in flat]
    for k in range(count):
        after = (k + 1) % count
        faces += [(k, after, after + 6), (k, after + 6, k + 6)]
    return np.concatenate([low, high]) * scale, np.array(faces, dtype=np.int64)


def scanned() -> bytes:
    """The bracket in triangles of 2 mm, 3 in 100 of them missing here and there."""
    vertices, faces = trimesh.remesh.subdivide_to_size(*bracket(), 2.0)  # type: ignore[no-untyped-call]
    return as_stl((vertices, faces[np.random.default_rng(4).random(len(faces)) >= 0.03]))


FORMS: dict[str, tuple[str, Callable[[], bytes], dict[str, object], float]] = {
    "STEP in mm": ("a.step", lambda: step_file([prism("bracket", OUTLINE, HEIGHT)]), {}, 0.0),
    "STEP in inches": (
        "a.step",
        lambda: step_file([prism("bracket", [(x / 25.4, y / 25.4) for x, y in OUTLINE], HEIGHT / 25.4)], "in"),
        {},
        0.0,
    ),
    "STL in mm": ("a.stl", lambda: as_stl(bracket()), {}, 0.0),
    "STL in inches": ("a.stl", lambda: as_stl(bracket(1 / 25.4)), {"unit": 25.4, "unit_name": "in"}, 0.0),
    "GLB in metres": ("a.glb", lambda: as_glb(bracket(1e-3)), {"unit": 1000.0, "unit_name": "m"}, 0.0),
    "3MF": ("a.3mf", lambda: as_3mf(bracket()), {}, 0.0),
    "3MF in inches": ("a.3mf", lambda: as_3mf(bracket(1 / 25.4), "inch"), {"unit": 25.4, "unit_name": "in"}, 0.0),
    "scan with holes": ("a.stl", scanned, {}, 2.0),
}
"""Name, bytes, what the scene says, and the tolerance it states: a hole is no wider than the 2 mm of a triangle."""

BLOCKS = {
    "over the foot": ((30.0, 30.0, 15.0), (20.0, 20.0, 20.0), 12.0),
    "in the corner": ((20.0, 20.0, 15.0), (14.0, 14.0, 10.0), 5.0),
    "above the edge": ((30.0, 4.0, 47.0), (10.0, 10.0, 10.0), 12.0),
    "off the corner": ((-20.0, -25.0, 15.0), (10.0, 10.0, 10.0), float(np.hypot(15, 20))),
}
"""Where a reference block stands, its size, and its gap from the bracket: closed form, all faces square."""


def finding_of(file: Path, said: dict[str, object], tolerance: float, block: str) -> Finding:
    at, size, _ = BLOCKS[block]
    shape = replace(Mesh(file, 1.0, "mm"), **said)  # type: ignore[arg-type]
    spread = (tolerance, tolerance, tolerance)
    one = Part("bracket", (SolidSpec(shape, "origin"),), tolerance=spread)
    made = replace(scene(one, part("block", Box(size), at=at)), list_within=100.0)
    report = Bay(assemble(made, use_cache=False)).check(moves=False)
    (found,) = (finding for finding in report.findings if finding.study == "gaps")
    return found


@pytest.mark.parametrize("block", BLOCKS)
@pytest.mark.parametrize("form", FORMS)
def test_the_same_bracket_has_the_same_gap_in_every_format(form: str, block: str, tmp_path: Path) -> None:
    """Oracle: closed form, by hand in `BLOCKS`."""
    name, made, said, tolerance = FORMS[form]
    if name.endswith(".step") and find_spec("cascadio") is None:
        pytest.skip("the extra for STEP is not installed")
    (tmp_path / name).write_bytes(made())
    found = finding_of(tmp_path / name, said, tolerance, block)
    true = BLOCKS[block][2]
    rounding = 1e-5  # single precision of coordinates under 100 mm
    assert found.low is not None
    assert found.high is not None
    assert found.low - rounding <= true <= found.high + rounding
    assert found.high - found.low < 0.3 + 2 * tolerance + 1e-9
    assert not found.note


def shipped(name: str) -> Path:
    found = find_spec("pyvista")
    if found is None or found.origin is None:
        pytest.skip("pyvista, which ships this mesh, is not installed")
    path = Path(found.origin).parent / "examples" / name
    if not path.exists():
        pytest.skip(f"this pyvista ships no {name}")
    return path


@pytest.mark.parametrize(
    ("name", "is_open"), [("airplane.ply", True), ("nut.ply", False), ("ant.ply", False), ("sphere.ply", False)]
)
def test_meshes_that_pyvista_ships_load_and_gaps_are_those_of_all_triangles(name: str, is_open: bool) -> None:
    """Oracle: brute force over all triangles, at places all round and close by."""
    loaded = read_mesh(Mesh(shipped(name), 1.0, "mm"), use_cache=False)
    assert loaded.account.closed is not is_open
    solid = loaded.solid
    low, high = solid.vertices.min(axis=0), solid.vertices.max(axis=0)
    size = float((high - low).max())
    vertices, faces = box((size / 30, size / 40, size / 20))
    probe = replace(solid, vertices=vertices, faces=faces, pieces=vertices[:1], closed=True, open_surface=False)
    probe = replace(probe, error=0.0, support=None)
    random = np.random.default_rng(9)
    compared = 0
    for _ in range(60):
        turn = turn_matrix(tuple(random.uniform(-180, 180, 3)))
        at = low + random.uniform(-0.3, 1.3, 3) * (high - low)
        gap = pair_gap(Prepared(solid), Prepared(probe), Pose(turn, at))
        assert gap is not None
        true = soup_distance(Soup(solid.vertices, solid.faces), Soup(vertices @ turn.T + at, faces))
        if gap.doubt or gap.value < 0:
            continue
        compared += 1
        assert gap.value == pytest.approx(true, abs=1e-6)
        assert gap.low - 1e-6 <= true <= gap.high + 1e-6
    assert compared > 20


def test_an_open_mesh_is_never_closed_without_a_word() -> None:
    """The airplane has nine borders; not one of them is filled."""
    loaded = read_mesh(Mesh(shipped("airplane.ply"), 1.0, "mm"), use_cache=False)
    assert loaded.solid.open_surface
    assert any(words.startswith("open border: ") for words in loaded.account.unrepaired)
    assert loaded.account.triangles == 2452
