"""What a scene asks of a geometry file: its axes, a box of it, no crumbs, some bodies, a size by tape."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.errors import MeshError
from packcheck.scene.model.scene import Box, Mesh, Part, SolidSpec, Tape
from packcheck.solids.meshes.files import read_mesh
from tests.bays import part, scene
from tests.solids.mesh_bytes import (
    as_3mf,
    as_ascii_stl,
    as_glb,
    as_obj,
    as_stl,
    ball,
    box,
    glb_tree,
    joined,
    model_xml,
    packed_glb,
    spec_of,
    zipped,
)


def loaded(folder: Path, name: str, data: bytes, **said: object):  # type: ignore[no-untyped-def]
    return read_mesh(spec_of(folder, name, data, **said), use_cache=False)


def test_turned_axes_put_the_box_where_it_belongs(tmp_path: Path) -> None:
    """Oracle: by hand. File (1, 2, 3) with own axes (-z, -x, y) stands at (-3, -1, 2)."""
    found = loaded(tmp_path, "a.stl", as_stl(box((2, 4, 6), (1, 2, 3))), axes=("-z", "-x", "y"))
    assert found.solid.vertices.min(axis=0).tolist() == [-6, -2, 0]
    assert found.solid.vertices.max(axis=0).tolist() == [0, 0, 4]
    assert found.account.closed
    assert not [words for words in found.account.repaired if "outward" in words]


def test_a_mirror_acts_after_the_turn(tmp_path: Path) -> None:
    """Oracle: by hand: own z is the file's y, from 0 to 4, mirrored to -4 to 0; the outside stays out."""
    data = as_stl(box((2, 4, 6), (1, 2, 3)))
    found = loaded(tmp_path, "a.stl", data, axes=("-z", "-x", "y"), mirror="z")
    assert (found.solid.vertices[:, 2].min(), found.solid.vertices[:, 2].max()) == (-4, 0)
    assert not [words for words in found.account.repaired if "outward" in words]


def test_crop_keeps_every_triangle_that_reaches_into_the_box(tmp_path: Path) -> None:
    """Oracle: brute force over the triangles: those with a sampled point in the box must all be there."""
    vertices, faces = ball(50, 24, 48)
    low, high = np.array([10.0, -20, -60]), np.array([60.0, 20, 60])
    found = loaded(tmp_path, "a.obj", as_obj((vertices, faces)), crop=((10, -20, -60), (60, 20, 60)))
    kept = {tuple(sorted(map(tuple, found.solid.vertices[face].round(6)))) for face in found.solid.faces}
    shares = np.random.default_rng(1).dirichlet([1, 1, 1], 200)
    inside = [
        face
        for face in faces
        if ((shares @ vertices[face] >= low) & (shares @ vertices[face] <= high)).all(1).any()
    ]
    assert inside
    assert {tuple(sorted(map(tuple, vertices[face].round(6)))) for face in inside} <= kept
    assert len(kept) < len(faces)
    assert not found.account.closed
    assert any(words.startswith("cropped: ") for words in found.account.unrepaired)


def test_a_crop_that_leaves_nothing_says_where_the_mesh_is(tmp_path: Path) -> None:
    with pytest.raises(MeshError, match="nothing within the box of crop") as caught:
        loaded(tmp_path, "a.stl", as_stl(box()), crop=((100, 100, 100), (200, 200, 200)))
    assert "from [-5, -10, -15] to [5, 10, 15] mm" in caught.value.faults[0].mend


def test_crumbs_go_and_are_counted(tmp_path: Path) -> None:
    """Oracle: by construction: two cubes of 2 and 3 mm beside a box of 10 x 20 x 30: 78 of 2278 mm2."""
    body = joined(box(), box((2, 2, 2), (50, 0, 0)), box((3, 3, 3), (0, 50, 0)))
    found = loaded(tmp_path, "a.stl", as_stl(body), least_piece=3.5)
    assert found.account.pieces == 1
    assert found.account.extents == (10, 20, 30)
    (words,) = found.account.unrepaired
    assert words == "dropped 2 loose pieces under 3.5 mm (the largest 3 mm; 3.4 % of the surface)"


def test_a_mesh_of_crumbs_only_is_refused_and_not_emptied(tmp_path: Path) -> None:
    with pytest.raises(MeshError, match="has no piece of 40 mm or more, its largest is 30 mm"):
        loaded(tmp_path, "a.stl", as_stl(box()), least_piece=40.0)


def _two_named(name: str) -> bytes:
    lid, tray = box((10, 20, 30)), box((4, 5, 6), (100, 0, 0))
    if name == "a.stl":
        return as_ascii_stl(lid, "lid") + as_ascii_stl(tray, "tray")
    if name == "a.obj":
        second = as_obj((tray[0], tray[1] + 8)).split(b"f ", 1)
        return b"o lid\n" + as_obj(lid) + second[0] + b"o tray\nf " + second[1]
    if name == "a.3mf":
        more = (
            model_xml(tray).split("<resources>")[1].split("</resources>")[0].replace('id="1"', 'id="2" name="tray"')
        )
        build = '<item objectid="1"/><item objectid="2"/>'
        return zipped(
            {"3D/3dmodel.model": model_xml(lid, build=build, more=more).replace('id="1"', 'id="1" name="lid"', 1)}
        )
    tree, binary = glb_tree(
        lid,
        [
            {"mesh": 0, "name": "lid", "children": [1]},
            {"mesh": 0, "name": "tray", "scale": [0.4, 0.25, 0.2], "translation": [100, 0, 0]},
        ],
    )
    return packed_glb(tree, binary)


@pytest.mark.parametrize("name", ["a.stl", "a.obj", "a.3mf", "a.glb"])
@pytest.mark.parametrize("asked", ["tray", "2"])
def test_a_body_is_taken_by_its_name_or_number(name: str, asked: str, tmp_path: Path) -> None:
    """Oracle: by construction: the second body is 4 x 5 x 6, 100 along x."""
    found = loaded(tmp_path, name, _two_named(name), bodies=(asked,))
    assert found.account.extents == pytest.approx((4, 5, 6), abs=1e-5)
    assert found.solid.vertices[:, 0].mean() == pytest.approx(100, abs=1e-5)
    assert found.account.closed


@pytest.mark.parametrize("name", ["a.stl", "a.obj", "a.3mf", "a.glb"])
def test_a_body_that_is_not_there_is_refused_with_those_that_are(name: str, tmp_path: Path) -> None:
    with pytest.raises(MeshError, match="has no body 'cover'") as caught:
        loaded(tmp_path, name, _two_named(name), bodies=("cover",))
    assert caught.value.faults[0].mend == "its bodies are 1 lid, 2 tray"


def test_pieces_are_the_bodies_of_a_file_that_names_none(tmp_path: Path) -> None:
    body = joined(box(), box((4, 5, 6), (100, 0, 0)))
    assert loaded(tmp_path, "a.stl", as_stl(body), bodies=("2",)).account.extents == (4, 5, 6)
    assert loaded(tmp_path, "a.stl", as_stl(body), bodies=("1", "2")).account.pieces == 2


@pytest.mark.parametrize("data", [("a.glb", as_glb(box())), ("a.3mf", as_3mf(box()))], ids=["glb", "3mf"])
def test_one_body_alone_has_number_one(data: tuple[str, bytes], tmp_path: Path) -> None:
    assert loaded(tmp_path, *data, bodies=("1",)).account.closed


def scanned(folder: Path, tape: Tape, anchor: object = "origin", **facts: object) -> Part:
    (folder / "scan.stl").write_bytes(as_stl(box((100, 40, 40), (50, 0, 0))))
    shape = Mesh(folder / "scan.stl", 1.0, "mm", scale=tape.by_tape / tape.in_file, tape=tape)
    return Part("scan", (SolidSpec(shape, anchor),), **facts)  # type: ignore[arg-type]


@pytest.mark.parametrize("off", [-2.0, -1.0, 0.0, 1.5, 2.0])
def test_the_true_gap_lies_within_what_the_tape_allows(off: float, tmp_path: Path) -> None:
    """Oracle: closed form. A bar from 0 to 100 in the file, by tape 200 +- 2: its far end lies at 200 + off."""
    tape = Tape(100.0, 200.0, 2.0)
    wall = part("wall", Box((10, 400, 400)), at=(255, 0, 0))
    made = Bay(assemble(replace(scene(scanned(tmp_path, tape), wall), list_within=100.0), use_cache=False))
    (finding,) = (f for f in made.check(moves=False).findings if f.study == "gaps")
    assert finding.value == pytest.approx(50.0, abs=1e-5)
    assert finding.low is not None
    assert finding.high is not None
    assert finding.low <= 50.0 - off <= finding.high
    assert finding.high - finding.low < 6.0
    assert any("scaled by 2" in words for words in made.assembly.accounts["scan"][0].repaired)


def test_what_the_tape_leaves_open_grows_with_the_distance_from_where_the_part_is_held(tmp_path: Path) -> None:
    """Oracle: closed form: 1 % of the way to the farthest corner of 200 x 80 x 80, from its end and its middle."""
    tape = Tape(100.0, 200.0, 2.0)
    errors = []
    for anchor in (("min", "mid", "mid"), ("mid", "mid", "mid")):
        made = assemble(scene(scanned(tmp_path, tape, anchor)), use_cache=False)
        errors.append(made.parts["scan"].solids[0].error)
    far = [np.hypot(200, np.hypot(40, 40)), np.hypot(100, np.hypot(40, 40))]
    assert errors == pytest.approx([0.01 * distance for distance in far], rel=1e-6)
