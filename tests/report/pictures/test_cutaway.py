"""Cuts through the spot of a finding: both parts are in them, the gap in its true size."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from packcheck.arrays import frozen
from packcheck.findings import Finding
from packcheck.report.pictures.cutaway import HEIGHT, LEAST, Cutaway, cutaway
from packcheck.report.pictures.eye import Eye
from packcheck.scene.model.scene import Box
from packcheck.surfaces import Surface
from tests.bays import bay, part

OVER = bay(
    part("lower", Box((200.0, 200.0, 60.0)), at=(0.0, 0.0, 0.0)),
    part("upper", Box((60.0, 60.0, 60.0)), at=(-100.0, -100.0, 54.0)),
)
UP = np.array([0.0, 0.0, 1.0])


def overlap(x: float, y: float) -> Finding:
    """6 mm deep where the two lie over each other, told at (x, y): 24 to 30 mm up."""
    points = frozen(np.array([[x, y, 30.0], [x, y, 24.0]]))
    return Finding("gaps", ("lower", "upper"), "clash", -6.0, points=points, direction=frozen(-UP))


def seen(finding: Finding, toward: list[float]) -> Cutaway | None:
    way = np.array(toward) / np.linalg.norm(toward)
    surfaces: tuple[Surface, ...] = OVER.model().surfaces
    return cutaway(finding, surfaces, Eye(way, UP), "mm")


def ends(made: Cutaway) -> np.ndarray:
    found = re.search(r'points="([^"]+)" fill="none" stroke="#20262b" stroke-width="3"', made.picture)
    assert found
    return np.array([[float(x) for x in point.split(",")] for point in found[1].split()])


def test_where_the_plane_of_sight_cuts_both_it_is_taken() -> None:
    made = seen(overlap(-90.0, -90.0), [-1.0, -1.0, 0.0])
    assert made is not None
    assert not made.turned


def test_at_a_corner_that_the_plane_of_sight_misses_it_is_turned_about_the_gap() -> None:
    """Oracle: closed form. The lower box has its corner at (-100, -100): the plane x + y = -200.2 passes beside it.

    Turned by 45 degrees the plane is square to x or y at -100.1: beside it as well; by 90 it cuts both.
    """
    made = seen(overlap(-100.1, -100.1), [-1.0, -1.0, 0.0])
    assert made is not None
    assert made.turned
    assert abs(float(made.toward @ np.array([1.0, -1.0, 0.0]))) == pytest.approx(np.sqrt(2.0))
    assert float(made.toward @ UP) == pytest.approx(0.0)


def test_the_gap_lies_in_the_cut_in_its_true_size() -> None:
    """Oracle: closed form. 6 mm of the 45 mm that a picture of 480 px shows at the least."""
    for toward in ([-1.0, -1.0, 0.0], [-1.0, 0.0, 0.0]):
        made = seen(overlap(-100.1, -100.1), toward)
        assert made is not None
        assert np.linalg.norm(np.diff(ends(made), axis=0)) == pytest.approx(6.0 * HEIGHT / LEAST, abs=0.2)


def test_without_a_plane_that_cuts_both_there_is_no_picture() -> None:
    """Far beside both, and with no direction to turn about, nothing is cut."""
    beside = overlap(-400.0, -400.0)
    assert seen(replace(beside, direction=None), [-1.0, -1.0, 0.0]) is None
