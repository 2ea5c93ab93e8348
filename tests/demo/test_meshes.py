"""The meshes of the demo are what they claim: closed and wound outward, or open skins facing the right way."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

FOLDER = Path(__file__).parents[2] / "meshes_demo"
SOLIDS = (
    "air_filter.ply",
    "alternator.obj",
    "exhaust_manifold.stl",
    "gearbox_casing.ply",
    "head_cover.off",
    "intake_plenum.glb",
)
SKINS = {"rear_deck.obj": (0, 0, 1), "seat_bulkhead.ply": (1, 0, 0)}  # and where their modelled side faces
EVERY = (*SOLIDS, *SKINS)


def read(file: Path) -> trimesh.Trimesh:
    """The mesh in `file` as one piece of geometry, equal vertices merged, mm."""
    mesh = trimesh.load(file, force="mesh", process=False)
    assert isinstance(mesh, trimesh.Trimesh)
    mesh.vertices = mesh.vertices * (1000.0 if file.suffix == ".glb" else 1.0)
    mesh.merge_vertices(digits_vertex=4, merge_norm=True, merge_tex=True)
    return mesh


@pytest.mark.parametrize("name", SOLIDS)
def test_a_cast_or_welded_part_is_one_closed_piece_wound_outward(name: str) -> None:
    mesh = read(FOLDER / name)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    assert mesh.body_count == 1


@pytest.mark.parametrize("name", SKINS)
def test_a_skin_is_one_open_sheet_that_faces_one_way(name: str) -> None:
    mesh = read(FOLDER / name)
    assert not mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert float((mesh.face_normals @ np.array(SKINS[name]) * mesh.area_faces).sum()) > 0.5 * mesh.area


@pytest.mark.parametrize("name", EVERY)
def test_a_mesh_has_between_2000_and_20000_triangles(name: str) -> None:
    assert 2_000 <= len(read(FOLDER / name).faces) <= 20_000


@pytest.mark.parametrize("name", EVERY)
def test_no_triangle_is_without_area(name: str) -> None:
    assert float(read(FOLDER / name).area_faces.min()) > 0


def test_the_meshes_weigh_less_than_3_megabytes_in_all() -> None:
    assert sum((FOLDER / name).stat().st_size for name in EVERY) < 3_000_000


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two folders of meshes, made one after the other."""
    folders = tmp_path_factory.mktemp("first"), tmp_path_factory.mktemp("second")
    for folder in folders:
        subprocess.run([sys.executable, FOLDER / "make_meshes.py", folder], check=True, timeout=120)
    return folders


@pytest.mark.parametrize("name", EVERY)
def test_making_a_mesh_twice_gives_the_same_bytes(name: str, made: tuple[Path, Path]) -> None:
    first, second = ((folder / name).read_bytes() for folder in made)
    assert first == second


@pytest.mark.parametrize("name", EVERY)
def test_the_kept_mesh_is_what_the_script_makes(name: str, made: tuple[Path, Path]) -> None:
    """Oracle: the script. Compared by shape, since another processor may round a last figure another way."""
    kept, new = read(FOLDER / name), read(made[0] / name)
    assert new.bounds == pytest.approx(kept.bounds, abs=0.02)
    assert new.area == pytest.approx(kept.area, rel=1e-4)
    assert new.volume == pytest.approx(kept.volume, rel=1e-4)
