"""Rigid fits against published ones."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.frames import Pose
from packcheck.survey.fits import axes_pose, mirrored, plane_of, rigid_fit

UMEYAMA_A = np.array([(0, 0, 0), (1, 0, 0), (0, 2, 0)], dtype=float)
UMEYAMA_B = np.array([(0, 0, 0), (-1, 0, 0), (0, 2, 0)], dtype=float)


def flat_fit(*, scaled: bool) -> tuple[Floats, float, Floats, float]:
    """Umeyama's example is flat: two tall points, alike in both sets, keep the fit from leaving the plane.

    Scale, shift and error are then those of the three points themselves, by his formulas for a given rotation.
    """
    centre_a, centre_b = UMEYAMA_A.mean(axis=0), UMEYAMA_B.mean(axis=0)
    tall = np.array([(0, 0, 1e3), (0, 0, -1e3)])
    source = np.vstack([UMEYAMA_A - centre_a, tall])
    target = np.vstack([UMEYAMA_B - centre_b, tall])
    fit = rigid_fit(source, target)
    rotation = fit.pose.rotation[:2, :2]
    a, b = (UMEYAMA_A - centre_a)[:, :2], (UMEYAMA_B - centre_b)[:, :2]
    scale = float(np.sum((a @ rotation.T) * b) / np.sum(a * a)) if scaled else 1.0
    shift = centre_b[:2] - scale * rotation @ centre_a[:2]
    squares = float(
        np.mean(np.sum((scale * UMEYAMA_A[:, :2] @ rotation.T + shift - UMEYAMA_B[:, :2]) ** 2, axis=1))
    )
    return rotation, scale, shift, squares


def test_the_reflection_trap_is_not_walked_into() -> None:
    """Oracle: Umeyama 1991, the example: R = [[0.832, 0.555], [-0.555, 0.832]], c = 0.721, t = (-0.800, 0.400),
    mean squared error 0.533; the unconstrained answer is a reflection with no error at all."""
    rotation, scale, shift, squares = flat_fit(scaled=True)
    np.testing.assert_allclose(rotation, [[0.832, 0.555], [-0.555, 0.832]], atol=5e-4)
    assert scale == pytest.approx(0.721, abs=5e-4)
    np.testing.assert_allclose(shift, (-0.800, 0.400), atol=5e-4)
    assert squares == pytest.approx(0.533, abs=5e-4)


def test_without_scale_the_error_is_larger() -> None:
    """Oracle: the same data, c = 1: root mean square 0.787245 (closed form)."""
    assert np.sqrt(flat_fit(scaled=False)[3]) == pytest.approx(0.787245, abs=5e-6)


def test_a_mirrored_part_is_laid_on_by_a_rotation_and_the_reflection_is_told_apart() -> None:
    """Oracle: closed form. Points mirrored left to right fit exactly by a reflection, and by no rotation."""
    points = np.array([(0, 0, 0), (90, 10, 0), (20, 70, 5), (40, 30, 60)], dtype=float)
    other = points * [1, -1, 1] + [100, 0, 0]
    fit = rigid_fit(points, other)
    assert np.linalg.det(fit.pose.rotation) == pytest.approx(1.0)
    assert fit.rms > 5
    assert rigid_fit(points, other, mirror=True).rms == pytest.approx(0, abs=1e-9)


def test_agrees_with_an_independent_fit() -> None:
    """Oracle: scipy.spatial.transform.Rotation.align_vectors, 50 random sets with noise."""
    from scipy.spatial.transform import Rotation

    rng = np.random.default_rng(6)
    for _ in range(50):
        source = rng.uniform(-200, 200, (5, 3))
        pose = Pose.of(rng.uniform(-500, 500, 3), rng.uniform(-180, 180, 3))
        target = pose.apply(source) + rng.normal(size=(5, 3))
        fit = rigid_fit(source, target)
        theirs, _ = Rotation.align_vectors(target - target.mean(axis=0), source - source.mean(axis=0))
        np.testing.assert_allclose(fit.pose.rotation, theirs.as_matrix(), atol=1e-9)


def test_a_scale_is_found_when_asked_for() -> None:
    """Oracle: closed form. A part drawn in inches and measured in mm is 25.4 times too small."""
    points = np.array([(0, 0, 0), (4, 0, 0), (0, 3, 0), (1, 1, 2)], dtype=float)
    fit = rigid_fit(points, Pose.of((10, 20, 30), (5, 40, -70)).apply(25.4 * points), scaled=True)
    assert fit.scale == pytest.approx(25.4)
    assert fit.rms == pytest.approx(0, abs=1e-9)


def test_plane_and_reflection() -> None:
    """Oracle: closed form. Points of z = 5, and the reflection of a point 7 above it."""
    middle, normal, spreads = plane_of(np.array([(0, 0, 5), (10, 0, 5), (0, 10, 5), (10, 10, 5)], dtype=float))
    np.testing.assert_allclose(np.abs(normal), (0, 0, 1), atol=1e-12)
    assert spreads[2] == pytest.approx(0, abs=1e-12)
    np.testing.assert_allclose(mirrored(np.array([1.0, 2.0, 12.0]), middle, normal), (1, 2, -2), atol=1e-12)


@pytest.mark.parametrize("count", [2, 3, 4, 9])
def test_a_plane_has_three_spreads_of_which_the_least_is_across_it(count: int) -> None:
    """Oracle: closed form. Points of an oval in x and y; the root mean square of each coordinate."""
    angles = np.arange(count) * 2 * np.pi / count
    points = np.stack([50 * np.cos(angles) + 7, 20 * np.sin(angles) - 3, np.full(count, 4.0)], axis=1)
    middle, normal, spreads = plane_of(points)
    assert middle.shape == normal.shape == spreads.shape == (3,)
    assert spreads == pytest.approx(np.sort(points.std(axis=0))[::-1], abs=1e-9)


def test_a_fit_has_the_shapes_it_says() -> None:
    fit = rigid_fit(UMEYAMA_A, UMEYAMA_B + np.array([1.0, 2.0, 3.0]))
    assert (fit.pose.rotation.shape, fit.pose.translation.shape, fit.residuals.shape) == ((3, 3), (3,), (3,))
    pose = axes_pose(np.array([1.0, 2, 3]), np.array([1.0, 0, 0]), np.array([0.0, 1, 0]))
    assert (pose.rotation.shape, pose.translation.shape) == ((3, 3), (3,))


@pytest.mark.parametrize("axes", [(0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)])
def test_axes_point_where_they_were_told_and_are_right_handed(axes: tuple[int, int]) -> None:
    """Oracle: the definition."""
    first, second = np.array([3.0, 1, 0]), np.array([1.0, 4, 2])
    rotation = axes_pose(np.zeros(3), first, second, axes).rotation
    assert np.linalg.det(rotation) == pytest.approx(1.0)
    np.testing.assert_allclose(rotation[:, axes[0]], first / np.linalg.norm(first))
    assert rotation[:, axes[1]] @ second > 0
