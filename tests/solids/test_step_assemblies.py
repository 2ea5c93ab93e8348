"""Assemblies in STEP files: parts placed in parts, several times, each in a unit of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TypeAlias

import numpy as np
import pytest

import packcheck
from packcheck.errors import MeshError
from packcheck.frames import turn_matrix
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.solids.mesh_bytes import spec_of
from tests.solids.step_curved import Assembled, Placing, assembly_file
from tests.solids.step_files import cylinder, prism, step_file

pytest.importorskip("cascadio", reason="the extra for STEP is not installed")

Array: TypeAlias = np.ndarray


def loaded(folder: Path, data: bytes, **said: object) -> LoadedMesh:
    return read_mesh(spec_of(folder, "part.step", data, **said), use_cache=False)


BLOCK = [(0, 0), (40, 0), (40, 20), (0, 20)]


def corners_of(outline: list[tuple[float, float]], height: float) -> Array:
    return np.array([(x, y, z) for z in (0.0, height) for x, y in outline])


def box_of(points: Array) -> Array:
    return np.array([points.min(axis=0), points.max(axis=0)])


def gearbox() -> Assembled:
    """An assembly in mm of one in inches of a part in metres, each placed more than once and turned."""
    bolt = Assembled("bolt", "m", solids=[prism("bolt", [(x / 1000, y / 1000) for x, y in BLOCK], 0.1)])
    flange = Assembled(
        "flange",
        "in",
        placed=[Placing(bolt, (1, 0, 0), name="upper"), Placing(bolt, (-1, 2, 0), (0, 0, 90), name="lower")],
    )
    return Assembled(
        "gearbox",
        "mm",
        placed=[
            Placing(flange, (100, 0, 0), (0, 90, 0), name="front"),
            Placing(flange, (0, 300, 50), (30, 0, 0), name="rear"),
            Placing(bolt, (0, 0, -400), name="drain"),
        ],
    )


def test_nested_placements_in_mixed_units_stand_where_the_file_puts_them(tmp_path: Path) -> None:
    """Oracle: by hand: each placement turns its corners and adds its place, in the unit of what holds it."""
    bolt = corners_of([(float(x), float(y)) for x, y in BLOCK], 100.0)
    held = [bolt + np.array([25.4, 0, 0]), bolt @ turn_matrix((0, 0, 90)).T + [-25.4, 50.8, 0]]
    placed = [points @ turn_matrix((0, 90, 0)).T + [100, 0, 0] for points in held]
    placed += [points @ turn_matrix((30, 0, 0)).T + [0, 300, 50] for points in held]
    placed.append(bolt + np.array([0, 0, -400]))
    data = assembly_file(gearbox())
    whole = loaded(tmp_path, data)
    assert whole.account.pieces == 5
    assert whole.account.closed
    vertices = np.unique(np.round(whole.solid.vertices, 3), axis=0)
    wanted = np.unique(np.round(np.concatenate(placed), 3), axis=0)
    apart = np.linalg.norm(vertices[:, None] - wanted[None], axis=2)
    assert apart.min(axis=1).max() < 2e-3
    assert apart.min(axis=0).max() < 2e-3
    found = [box_of(loaded(tmp_path, data, bodies=(str(number),)).solid.vertices) for number in range(1, 6)]
    left = [box_of(points) for points in placed]
    for box in found:
        (match,) = (k for k, other in enumerate(left) if np.allclose(box, other, atol=2e-3))
        left.pop(match)
    assert not left


def test_the_bodies_of_an_assembly_are_named_by_their_parts(tmp_path: Path) -> None:
    (tmp_path / "gearbox.step").write_bytes(assembly_file(gearbox()))
    found = packcheck.look(tmp_path / "gearbox.step")
    assert [body.name for body in found.bodies] == ["upper", "lower", "upper", "lower", "drain"]
    assert all(body.closed for body in found.bodies)
    assert found.left == ()


@pytest.mark.parametrize("name", ["", "7", "NAUO12"])
def test_a_placing_without_a_name_of_its_own_has_that_of_its_part(name: str, tmp_path: Path) -> None:
    block = Assembled("block", "mm", solids=[prism("b", [(float(x), float(y)) for x, y in BLOCK], 100.0)])
    data = assembly_file(Assembled("all", "mm", placed=[Placing(block, (at, 0, 0), name=name) for at in (0, 90)]))
    (tmp_path / "all.step").write_bytes(data)
    assert [body.name for body in packcheck.look(tmp_path / "all.step").bodies] == ["block", "block"]


TWO = step_file([cylinder("pin", 20, 50), prism("lid", [(0, 0), (40, 0), (40, 20)], 5, (100, 0, 0))])

LOST = {
    "a radius of zero": (b",20.000000000)", b",0.0)"),
    "a radius below zero": (b",20.000000000)", b",-20.0)"),
    "circles of no known kind": (b"CIRCLE(", b"CIRCUS("),
    "a body of no known kind": (b"MANIFOLD_SOLID_BREP('pin'", b"MANIFOLD_SOLID_BREAD('pin'"),
}


@pytest.mark.parametrize("case", LOST)
def test_a_body_that_vanishes_is_no_quiet_matter(case: str, tmp_path: Path) -> None:
    """Oracle: by construction: the pin, three faces of eight, is spoilt; the lid is whole.

    Whoever asks for the lid alone has it, and is told.
    """
    data = TWO.replace(*LOST[case])
    with pytest.raises(
        MeshError, match=r"has 8 faces, of which 3 could not be understood \(nothing is left of pin"
    ):
        loaded(tmp_path, data)
    lid = loaded(tmp_path, data, bodies=("1",))
    assert lid.account.extents == pytest.approx((40, 20, 5), rel=1e-6)
    assert any("could not be understood" in words for words in lid.account.unrepaired)
    look = packcheck.look(tmp_path / "part.step")
    assert [body.triangles for body in look.bodies] == [8]
    assert any("could not be understood" in words for words in look.left)


def test_a_face_that_vanishes_leaves_an_open_surface_and_is_told(tmp_path: Path) -> None:
    """Oracle: by construction: the floor of the pin is a plane of no known kind."""
    found = loaded(tmp_path, TWO.replace(b"PLANE(", b"PLAIN(", 1))
    assert not found.account.closed
    assert "has 8 faces, of which 1 could not be understood" in found.account.unrepaired


@pytest.mark.parametrize(
    "broken", [(b"40.000000000,0", b"40.00x0000,0"), (b"VERTEX_POINT('',", b"VERTEX_POINT(''")]
)
def test_a_number_or_line_that_does_not_read_is_refused(broken: tuple[bytes, bytes], tmp_path: Path) -> None:
    """The library reads on after both, and gives something."""
    with pytest.raises(MeshError, match="is not sound as a STEP file"):
        loaded(tmp_path, TWO.replace(*broken, 1))


def test_sound_files_lack_nothing(tmp_path: Path) -> None:
    """Oracle: by construction; the same part stands five times in one, two bodies touch in another."""
    touching = [prism("a", [(float(x), float(y)) for x, y in BLOCK], 10.0)]
    touching.append(prism("b", [(float(x), float(y)) for x, y in BLOCK], 10.0, (0, 0, 10)))
    for data in (assembly_file(gearbox()), TWO, step_file(touching, one_product=True), step_file(touching)):
        assert not any("understood" in words for words in loaded(tmp_path, data).account.unrepaired)
