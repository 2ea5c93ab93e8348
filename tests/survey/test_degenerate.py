"""Points that are one, or stand in one line: what they leave open is told, whatever place is asked of them."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.errors import SceneError
from packcheck.survey.fits import axes_pose

SCENE = """packcheck: 1
frames: {{s: {{}}}}
parts:
  pump: {{box: [60, 60, 120], at: [900, 0, 0]}}
survey:
  instruments: {{tape: {{accuracy: 1}}}}
  points:
    a: {{at: [0, 0, 0]}}
    b: {{at: [{0}]}}
    c: {{at: [{1}]}}
    d: {{at: [0, 0, 0]}}
    m1: {{in: s, at: [0, 0, 0]}}
    m2: {{in: s, at: [{0}]}}
    m3: {{in: s, at: [{1}]}}
  observations:
    - {{tape: [a, d], reads: 100, accuracy: 500}}
  place:
    s: {2}
"""

PLACES = (
    "{origin: a, toward: {aft: b}, side: {left: c}}",
    "{plane: [a, b, c]}",
    "{plane: [a, b, c, d]}",
    "{matched: {m1: a, m2: b, m3: c}}",
    "{hinge: [[a, b, c], [d, c, b]]}",
)
POINTS = (
    ("0, 0, 0", "0, 0, 0"),
    ("0, 100, 0", "0, 0, 0"),
    ("0, 100, 0", "0, 300, 0"),
    ("0, 1e-9, 0", "1e-9, 0, 0"),
)


@pytest.mark.parametrize(("place", "points"), list(product(PLACES, POINTS)))
def test_points_that_leave_a_turn_open_are_refused(place: str, points: tuple[str, str], tmp_path: Path) -> None:
    """Oracle: points in one line fix no turn about it, points that are one fix none at all."""
    scene = tmp_path / "scene.yaml"
    scene.write_text(SCENE.format(*points, place), encoding="utf-8")
    with pytest.raises(SceneError, match="free in"):
        packcheck.load(scene)
    packcheck.load(scene, trust=False).survey()


FIRST, SECOND = ([0, 0, 0], [2, 0, 0]), ([0, 0, 0], [5, 0, 0], [0, 3, 0])


@pytest.mark.parametrize(("first", "second"), list(product(FIRST, SECOND)))
def test_a_pose_is_a_pose_from_any_directions(first: list[float], second: list[float]) -> None:
    """Oracle: a rotation matrix times its transpose is the unit matrix, its determinant 1."""
    rotation = axes_pose(np.zeros(3), np.array(first, float), np.array(second, float)).rotation
    assert np.allclose(rotation @ rotation.T, np.eye(3))
    assert np.isclose(np.linalg.det(rotation), 1)
