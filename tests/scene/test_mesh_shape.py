"""The grammar of geometry files: axes, crop, pieces, bodies and scale, and what is refused."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

from packcheck.scene.model.scene import Mesh
from tests.scene.writing import shape_of, whats


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("scan.obj", "part.step", "PART.STP"):
        (tmp_path / name).write_text("anything", encoding="utf-8")
    return tmp_path


def mesh_of(folder: Path, text: str, head: str = "", file: str = "scan.obj") -> Mesh:
    shape = shape_of(folder, f"mesh: {{file: {file}, {text}}}", head=head)
    assert isinstance(shape, Mesh)
    return shape


def told(folder: Path, text: str) -> list[str]:
    return whats(folder, f"parts: {{it: {{mesh: {{file: scan.obj, {text}}}}}}}")


def matrix(axes: tuple[str, ...]) -> np.ndarray:
    """Rows: the part's own x, y, z in the axes of the file."""
    unit = dict(zip("xyz", np.eye(3), strict=True))
    return np.array([unit[axis[-1]] * (-1 if axis[0] == "-" else 1) for axis in axes])


@pytest.mark.parametrize(
    ("said", "axes"),
    [
        ("up: z", ("x", "y", "z")),
        ("up: y", ("x", "-z", "y")),
        ("up: y, forward: z", ("-z", "-x", "y")),
        ("up: y, forward: -z", ("z", "x", "y")),
        ("forward: -x", ("x", "y", "z")),
        ("forward: x", ("-x", "-y", "z")),
    ],
)
def test_axes_of_the_file_are_led_to_those_of_the_part(folder: Path, said: str, axes: tuple[str, ...]) -> None:
    """Oracle: by hand, with x aft, y right, z up: own x is minus the file's forward, own z its up."""
    assert mesh_of(folder, f"units: m, {said}").axes == axes


@pytest.mark.parametrize("head", ["", "axes: {x: fore, y: left, z: up}\n", "axes: {x: right, y: up, z: aft}\n"])
@pytest.mark.parametrize("up", ["x", "y", "z", "-x", "-y", "-z"])
def test_the_turn_is_never_a_mirror_and_is_the_least_one_that_fits(folder: Path, head: str, up: str) -> None:
    """Oracle: brute force over all 24 turns of a cube; the least turn has the greatest trace."""
    own_up = 1 if "y: up" in head else 2
    found = matrix(mesh_of(folder, f"units: m, up: {up}", head).axes)
    assert np.linalg.det(found) == pytest.approx(1.0)
    assert (found[own_up] == matrix((up,))[0]).all()
    signs = [np.diag(row) for row in np.array(np.meshgrid(*[[1, -1]] * 3)).reshape(3, -1).T]
    cubes = [sign @ np.eye(3)[list(order)] for order in permutations(range(3)) for sign in signs]
    fitting = [turn for turn in cubes if np.linalg.det(turn) > 0 and (turn[own_up] == found[own_up]).all()]
    assert len(fitting) == 4
    assert np.trace(found) == max(map(np.trace, fitting))


def test_what_is_taken_of_the_file_is_read_in_mm(folder: Path) -> None:
    mesh = mesh_of(folder, "units: m, body: [lid, 2], crop: {from: [1 in, 0, 5], to: [0, 9, -5]}, pieces: 2 cm")
    assert mesh.bodies == ("lid", "2")
    assert mesh.crop == ((0.0, 0.0, -5.0), (25.4, 9.0, 5.0))
    assert mesh.least_piece == 20.0


def test_scale_is_that_of_the_tape_over_that_of_the_file(folder: Path) -> None:
    """Oracle: by hand: points 0.5 m apart (a 3-4-5 triangle), 510 mm by tape: 1.02 times as large."""
    mesh = mesh_of(folder, "units: m, scale_from: {points: [[0, 0, 0.1], [0.3, 0.4, 0.1]], tape: 510 mm}")
    assert mesh.scale == pytest.approx(1.02)
    assert mesh.tape is not None
    assert mesh.tape.in_file == pytest.approx(500.0)
    assert (mesh.tape.by_tape, mesh.tape.tolerance) == (510.0, 2.0)


def test_a_step_file_needs_no_units(folder: Path) -> None:
    assert shape_of(folder, "mesh: {file: part.step}") == Mesh(folder / "part.step", 1.0, "mm")
    assert isinstance(shape_of(folder, "mesh: {file: PART.STP}"), Mesh)


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("units: m, up: w", "is 'w', needs x, y, z, -x, -y or -z"),
        ("units: m, up: y, forward: -y", "forward is -y, along the same axis as up"),
        ("units: m, crop: {from: [0, 0, 0], to: [9, 0, 9]}", "shares a coordinate with from"),
        ("units: m, crop: {from: [0, 0, 0]}", "needs to"),
        ("units: m, pieces: 0", "needs more than 0 mm"),
        ("units: m, scale_from: {points: [[0, 0, 0], [0, 0, 0]], tape: 5}", "one and the same point"),
        ("units: m, scale_from: {points: [[0, 0, 0]], tape: 5}", "has 1 values, needs 2"),
        ("units: m, scale_from: {points: [[0, 0, 0], [1, 0, 0]], tape: 3}", "needs over 0 and under half of tape"),
        ("units: m, scale: 2, scale_from: {points: [[0, 0, 0], [1, 0, 0]], tape: 50}", "stands beside scale_from"),
        ("units: m, scale_from: {points: [[0, 0, 0], [1 m, 0, 0]], tape: 50}", "'1 m'"),
        ("up: y", "mesh needs units"),
    ],
)
def test_what_cannot_be_meant_is_refused(folder: Path, said: str, what: str) -> None:
    (fault,) = told(folder, said)
    assert what in fault
