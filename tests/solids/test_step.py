"""STEP files written by hand, whose every corner is known, read through the library that cuts them up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.errors import MeshError
from packcheck.scene.model.scene import Mesh
from packcheck.solids.formats.gate import RefusedError
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from packcheck.solids.meshes.reading import made
from tests.solids.mesh_bytes import spec_of
from tests.solids.step_files import cylinder, prism, step_file

pytest.importorskip("cascadio", reason="the extra for STEP is not installed")

BRACKET = [(0, 0), (60, 0), (60, 8), (8, 8), (8, 40), (0, 40)]


def loaded(folder: Path, data: bytes, **said: object) -> LoadedMesh:
    return read_mesh(spec_of(folder, "part.step", data, **said), use_cache=False)


@pytest.mark.parametrize(("unit", "factor"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)])
def test_lengths_come_out_in_mm_whatever_the_file_is_in(unit: str, factor: float, tmp_path: Path) -> None:
    """Oracle: by hand: an L of 60 x 40 x 30 in the file's unit, which is 1, 10, 1000 or 25.4 mm."""
    found = loaded(tmp_path, step_file([prism("bracket", BRACKET, 30)], unit))
    assert found.account.extents == pytest.approx((60 * factor, 40 * factor, 30 * factor), rel=1e-6)
    assert (found.account.format, found.account.closed, found.account.pieces) == ("STEP", True, 1)
    assert found.account.repaired == ()
    assert found.account.unrepaired == ()
    assert 0.1 <= found.solid.error < 0.1 + 1e-6 * max(found.account.extents)


def test_what_the_scene_says_of_the_unit_does_not_spoil_it(tmp_path: Path) -> None:
    found = loaded(tmp_path, step_file([prism("bracket", BRACKET, 30)], "in"), unit=25.4, unit_name="in", scale=0.5)
    assert found.account.extents == pytest.approx((762, 508, 381), rel=1e-6)


@pytest.mark.parametrize(
    ("radius", "unit", "factor"), [(2, "mm", 1), (20, "mm", 1), (300, "mm", 1), (4, "in", 25.4)]
)
def test_a_round_pin_lies_within_the_stated_error(radius: float, unit: str, factor: float, tmp_path: Path) -> None:
    """Oracle: closed form: distance of vertices and edge middles from the true cylinder."""
    found = loaded(tmp_path, step_file([cylinder("pin", radius, 50)], unit))
    corners = found.solid.vertices[found.solid.faces]
    wall = corners[np.ptp(corners[:, :, 2], axis=1) > 1e-3]
    middles = (wall + wall[:, [1, 2, 0]]) / 2
    shares = np.random.default_rng(3).dirichlet([1, 1, 1], 30)
    points = np.concatenate([wall.reshape(-1, 3), middles.reshape(-1, 3), (shares @ wall).reshape(-1, 3)])
    off = np.abs(np.hypot(points[:, 0], points[:, 1]) - radius * factor).max()
    assert 0 < off <= found.solid.error
    assert found.account.closed


def test_bodies_are_told_apart_by_the_names_of_the_drawing(tmp_path: Path) -> None:
    data = step_file([prism("bracket", BRACKET, 30), prism("lid", BRACKET, 5, (100, 0, 0))])
    (tmp_path / "two.stp").write_bytes(data)
    look = packcheck.look(tmp_path / "two.stp")
    assert [(body.number, body.name, body.closed) for body in look.bodies] == [
        (1, "bracket", True),
        (2, "lid", True),
    ]
    assert (look.declared, look.sure, look.unit) == ("mm", True, "mm")
    assert "units" not in look.snippet
    assert loaded(tmp_path, data, bodies=("lid",)).account.extents == pytest.approx((60, 40, 5), rel=1e-6)
    with pytest.raises(MeshError, match="has no body 'cover'") as caught:
        loaded(tmp_path, data, bodies=("cover",))
    assert caught.value.faults[0].mend == "its bodies are 1 bracket, 2 lid"


def test_solids_of_one_product_are_told_apart_by_number(tmp_path: Path) -> None:
    data = step_file([prism("a", BRACKET, 30), prism("b", BRACKET, 5, (100, 0, 0))], one_product=True)
    assert loaded(tmp_path, data).account.pieces == 2
    assert loaded(tmp_path, data, bodies=("2",)).account.extents == pytest.approx((60, 40, 5), rel=1e-6)


_GOOD = step_file([prism("bracket", BRACKET, 30)])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_GOOD[: len(_GOOD) // 2], "is cut short"),
        (b"solid part\nendsolid part\n", "is named .step but holds ASCII STL"),
        (b"<html>not found</html>", "holds a web page"),
        (_GOOD.split(b"DATA;")[0] + b"DATA;\nENDSEC;\nEND-ISO-10303-21;\n", "holds no solid"),
        (_GOOD.replace(b"ENDSEC;\nEND-", b"#9999=DOCUMENT_FILE('../other.step');\nENDSEC;\nEND-"), "other files"),
        (_GOOD.replace(b"MANIFOLD_SOLID_BREP", b"MANIFOLD_SOLID_BREAD"), "holds no"),
        (_GOOD.replace(b"CLOSED_SHELL('',(#", b"CLOSED_SHELL('',(#9"), "refers to lines it does not have"),
        (b"ISO-10303-21;\n" + b"\0" * 99 + b"END-ISO-10303-21;", "holds binary data"),
    ],
    ids=["cut", "stl", "web page", "empty", "elsewhere", "unknown entity", "dangling", "binary"],
)
def test_a_broken_file_is_refused_in_words(data: bytes, words: str, tmp_path: Path) -> None:
    with pytest.raises(MeshError, match=words) as caught:
        loaded(tmp_path, data)
    assert str(tmp_path / "part.step") in caught.value.faults[0].what


def test_without_the_extra_the_command_to_install_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("packcheck.solids.formats.step.find_spec", lambda _: None)
    with pytest.raises(RefusedError, match="the extra that reads those is not installed") as caught:
        made(Mesh(Path("part.step"), 1.0, "mm"), _GOOD)
    assert caught.value.mend == 'in the folder of packcheck run  pip install ".[cad]"'


def test_a_second_reading_needs_no_child(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PACKCHECK_CACHE", str(tmp_path / "kept"))
    spec = spec_of(tmp_path, "part.step", _GOOD)
    first = read_mesh(spec)
    monkeypatch.setattr("packcheck.solids.meshes.files.aside", None)
    again = read_mesh(spec)
    assert np.array_equal(first.solid.vertices, again.solid.vertices)
    assert (again.solid.error, again.account) == (first.solid.error, first.account)
