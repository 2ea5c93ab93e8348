"""From where a gap is looked at: square to it, and past what is in the way."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Vector, frozen
from packcheck.findings import Finding
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.view import View, facing, from_words, way
from packcheck.scene.model.scene import Box, Part
from packcheck.surfaces import Model
from tests.bays import bay, part

AXES = ("aft", "right", "up")
GAP = Finding(
    "gaps",
    ("low", "high"),
    "tight",
    value=20.0,
    points=frozen([[0.0, 0.0, 10.0], [0.0, 0.0, 30.0]]),
    direction=frozen([0.0, 0.0, -1.0]),
)
PAIR = (part("low", Box((60.0, 60.0, 20.0))), part("high", Box((60.0, 60.0, 20.0)), at=(0.0, 0.0, 40.0)))


def model(*others: Part) -> Model:
    return bay(*PAIR, *others).model()


def test_a_gap_is_seen_square_to_its_direction() -> None:
    """Oracle: the definition; its true length is seen only from there."""
    eye = Onlooker(model()).eye(GAP)
    assert abs(float(eye.toward @ np.array([0.0, 0.0, 1.0]))) < 1e-12
    assert np.linalg.norm(eye.toward) == pytest.approx(1.0)
    assert eye.hiding == ()


def test_a_wall_on_the_liked_side_is_looked_past() -> None:
    """Oracle: by head. The eye likes the left and the rear; with walls there it goes to the right or the front."""
    walls = (
        part("left_wall", Box((600.0, 5.0, 400.0)), at=(0.0, -80.0, 20.0)),
        part("rear_wall", Box((5.0, 600.0, 400.0)), at=(80.0, 0.0, 20.0)),
    )
    eye = Onlooker(model(*walls)).eye(GAP)
    assert eye.hiding == ()
    assert float(eye.toward @ way(AXES, "left")) < 0.25  # past the end of the wall at the most
    assert float(eye.toward @ way(AXES, "aft")) < 0.25


def test_what_stands_in_the_way_on_every_side_is_named() -> None:
    """Oracle: by head. In a closed chest every ray meets the chest."""
    sides = [
        part(f"wall_{k}", Box((5.0, 400.0, 400.0) if k < 2 else (400.0, 5.0, 400.0)), at=at)
        for k, at in enumerate([(100.0, 0.0, 20.0), (-100.0, 0.0, 20.0), (0.0, 100.0, 20.0), (0.0, -100.0, 20.0)])
    ]
    assert Onlooker(model(*sides)).eye(GAP).hiding


def test_without_a_direction_it_is_seen_from_above() -> None:
    finding = Finding("gaps", ("low", "high"), "clash", points=GAP.points)
    assert Onlooker(model()).eye(finding).toward[2] > 0.3


@pytest.mark.parametrize("toward", [[0, 0, 1], [0, 0, -1], [1, 0, 0], [0.6, -0.5, 0.62]])
def test_a_view_is_a_turn_and_shows_up_upright(toward: Vector) -> None:
    """Oracle: closed form. Determinant 1; what points at the viewer has no extent in the picture."""
    out = np.array(toward, dtype=float) / np.linalg.norm(toward)
    turn = facing(out, way(AXES, "up"), way(AXES, "fore"))
    assert np.linalg.det(turn) == pytest.approx(1.0)
    assert turn @ out == pytest.approx([0, 0, 1])
    assert (turn @ way(AXES, "up"))[1] >= -1e-12


def test_points_land_where_the_drawing_rules_say() -> None:
    """Oracle: by head. Seen from the left, forward is on the left of the picture: aft 10 mm is 20 px right."""
    view = View(np.zeros(3), facing(way(AXES, "left"), way(AXES, "up"), way(AXES, "fore")), 2.0, 100, 80)
    assert view.project(np.array([10.0, 0.0, 5.0])) == pytest.approx([70.0, 30.0, 0.0])
    assert view.project(np.array([0.0, -7.0, 0.0])) == pytest.approx([50.0, 40.0, -14.0])


def test_the_side_looked_from_is_told_in_the_words_of_the_car() -> None:
    assert from_words(way(AXES, "left"), AXES) == "the left"
    assert from_words(np.array([0.6, 0.5, 0.62]), AXES) == "the rear and the right and above"
