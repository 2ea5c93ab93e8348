"""Guards around the distance engine: what it would read stray memory for, or answer with a sentinel, is refused."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.arrays import frozen, frozen_faces
from packcheck.errors import QueryError
from packcheck.frames import Pose
from packcheck.proximity.engine import Tree, build_tree, triangle_distance, where

CORNERS = frozen([[0, 0, 0], [1, 0, 0], [0, 1, 0]])
FACE = frozen_faces([[0, 1, 2]])


def tree(vertices: object = CORNERS, faces: object = FACE) -> Tree:
    return build_tree(frozen(vertices), frozen_faces(faces))  # type: ignore[arg-type]


@pytest.mark.parametrize("faces", [[[0, 1, 3]], [[0, 1, -1]], [[0, 1, 1_000_000_000]], np.empty((0, 3))])
def test_faces_that_name_no_vertex_are_refused(faces: object) -> None:
    with pytest.raises(QueryError, match="triples of vertex numbers"):
        tree(faces=faces)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e300])
def test_vertices_that_are_not_finite_are_refused(bad: float) -> None:
    with pytest.raises(QueryError, match="finite"):
        tree([[0, 0, 0], [1, 0, 0], [0, 1, bad]])


@pytest.mark.parametrize(
    "pose",
    [
        Pose(frozen(np.diag([1, 1, -1])), frozen([0, 0, 0])),
        Pose(frozen(10 * np.eye(3)), frozen([0, 0, 0])),
        Pose(frozen(np.zeros((3, 3))), frozen([0, 0, 0])),
        Pose(frozen(np.eye(3)), frozen([np.nan, 0, 0])),
        Pose(frozen(np.eye(3)), frozen([np.inf, 0, 0])),
    ],
)
def test_poses_that_stretch_mirror_or_are_not_finite_are_refused(pose: Pose) -> None:
    with pytest.raises(QueryError, match="pose"):
        where(pose)


def test_a_segment_piercing_a_triangle_is_at_distance_zero() -> None:
    """Oracle: closed form. Degenerate triangles stand for the axes of capsules and hoses."""
    needle = tree([[0.2, 0.2, -1], [0.2, 0.2, 1]], [[0, 1, 1]])
    assert triangle_distance(tree(), needle, where(Pose.of()))[0] == 0.0


def test_a_point_over_a_triangle_is_at_its_height() -> None:
    """Oracle: closed form."""
    distance, on_a, on_b = triangle_distance(tree(), tree([[0.2, 0.2, 3]], [[0, 0, 0]]), where(Pose.of()))
    assert distance == pytest.approx(3.0, abs=1e-12)
    assert np.allclose(on_a, [0.2, 0.2, 0]) and np.allclose(on_b, [0.2, 0.2, 3])


def test_results_are_fresh_for_every_query() -> None:
    """A reused result object keeps the smallest answer of earlier calls."""
    a, b = tree(), tree()
    near, far = where(Pose.of((0, 0, 5))), where(Pose.of((0, 0, 40)))
    assert triangle_distance(a, b, near)[0] == pytest.approx(5)
    assert triangle_distance(a, b, far)[0] == pytest.approx(40)


def test_one_module_alone_imports_the_engine() -> None:
    package = Path(packcheck.__file__).parent
    importing = {
        path.relative_to(package).as_posix()
        for path in package.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if (isinstance(node, ast.Import) and any(alias.name.split(".")[0] == "fcl" for alias in node.names))
        or (isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "fcl")
    }
    assert importing == {"proximity/engine.py"}


@pytest.mark.parametrize(
    "word", ["enable_signed_distance", "CollisionManager", "fcl.Box", "fcl.Convex", "fcl.Halfspace"]
)
def test_what_the_engine_gets_wrong_is_never_called(word: str) -> None:
    package = Path(packcheck.__file__).parent
    assert not [path for path in package.rglob("*.py") if word in path.read_text(encoding="utf-8")]
