"""Poses: how turns compose, that square turns stay square, and that inverses undo."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from packcheck.frames import Pose, turn_degrees, turn_matrix

angles = st.tuples(*[st.floats(-360, 360)] * 3)
places = st.tuples(*[st.floats(-1e4, 1e4)] * 3)


@given(angles)
def test_turn_is_about_fixed_x_then_y_then_z(turn: tuple[float, float, float]) -> None:
    """Oracle: scipy's extrinsic xyz Euler angles."""
    assert np.allclose(turn_matrix(turn), Rotation.from_euler("xyz", turn, degrees=True).as_matrix(), atol=1e-12)


@pytest.mark.parametrize("turn", [(90, 0, 0), (0, -90, 180), (270, 90, -90), (360, 0, 450)])
def test_square_turns_are_exact(turn: tuple[float, float, float]) -> None:
    """Oracle: closed form: entries are 0, 1 or -1."""
    assert set(np.unique(np.abs(turn_matrix(turn)))) <= {0.0, 1.0}


@given(st.one_of(angles, st.tuples(*[st.sampled_from([-90.0, 0.0, 90.0, 90 - 1e-9, -90 + 1e-13])] * 3)))
def test_a_turn_is_found_again_from_its_matrix(turn: tuple[float, float, float]) -> None:
    """Oracle: scipy's extrinsic xyz Euler angles, also where the turn about y is square and many turns are one."""
    matrix = Rotation.from_euler("xyz", turn, degrees=True).as_matrix()
    again = Rotation.from_euler("xyz", turn_degrees(matrix), degrees=True).as_matrix()
    assert np.allclose(again, matrix, rtol=0, atol=1e-13)


@given(angles, places, angles, places)
def test_composition_applies_the_inner_pose_first(
    turn: tuple[float, ...], at: tuple[float, ...], inner_turn: tuple[float, ...], inner_at: tuple[float, ...]
) -> None:
    """Oracle: applying one after the other."""
    outer, inner = Pose.of(at, turn), Pose.of(inner_at, inner_turn)
    point = np.array([1.0, 2.0, 3.0])
    assert np.allclose((outer @ inner).apply(point), outer.apply(inner.apply(point)), atol=1e-7)


@given(angles, places)
def test_an_inverse_undoes_its_pose(turn: tuple[float, ...], at: tuple[float, ...]) -> None:
    pose = Pose.of(at, turn)
    point = np.array([[10.0, -20.0, 30.0]])
    assert np.allclose(pose.inverse().apply(pose.apply(point)), point, atol=1e-8)


def test_poses_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        Pose.of((1, 2, 3)).translation[0] = 5
