"""The picture of a survey: names that can be read, whatever stands where."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.drawn import NetworkDrawing
from packcheck.report.labels import HEIGHT, placed_labels, width_of
from packcheck.report.survey_svg import survey_svg

PAPER = np.array([0, 0, 900.0, 700.0])


def boxes(points: Floats, names: tuple[str, ...], within: Floats = PAPER) -> Floats:
    """What the names cover: left, top, right, bottom."""
    labels = placed_labels(points, names, np.full(points.shape, 10.0), within)
    ends = ((one, width_of(name)) for one, name in zip(labels, names, strict=True))
    return np.array([(one.x, one.y + 3 - HEIGHT, one.x + width, one.y + 3) for one, width in ends])


def covering(found: Floats) -> int:
    """How many pairs of names cover each other, a px and more both ways. By hand, pair by pair."""
    return sum(
        bool(np.all(np.minimum(a[2:], b[2:]) - np.maximum(a[:2], b[:2]) > 1)) for a, b in combinations(found, 2)
    )


@pytest.mark.parametrize("count", [2, 4, 9, 20])
def test_names_of_points_in_one_place_cover_no_other(count: int) -> None:
    """Oracle: brute force over all pairs of names."""
    points = np.full((count, 2), 400.0)
    assert covering(boxes(points, tuple(f"mounting_ear_{k}" for k in range(count)))) == 0


def test_names_of_many_scattered_points_cover_no_other() -> None:
    """Oracle: brute force over all pairs of names."""
    points = np.random.default_rng(5).uniform(60, 640, (60, 2))
    assert covering(boxes(points, tuple(f"hole_{k:02d}" for k in range(60)))) == 0


def test_a_long_name_at_the_edge_stays_on_the_paper() -> None:
    found = boxes(np.array([[880.0, 10.0], [5.0, 690.0]]), ("gearbox_mounting_ear_rear_left", "scuttle_drain_hole"))
    assert np.all(found[:, :2] >= PAPER[:2] - 1) and np.all(found[:, 2:] <= PAPER[2:] + 1)


def test_a_name_that_stands_off_is_led_to_and_one_beside_its_point_is_not() -> None:
    lone = placed_labels(np.array([[400.0, 300.0]]), ("dowel",), np.zeros((1, 2)), PAPER)
    assert lone[0].lead is None
    crowd = np.full((12, 2), 400.0)
    led = placed_labels(crowd, tuple(f"mounting_ear_{k}" for k in range(12)), np.zeros((12, 2)), PAPER)
    off = [one for one in led if one.lead is not None]
    assert off
    assert len(off) < 12


def drawing(points: Floats, spreads: list[float], units: str = "mm") -> NetworkDrawing:
    names = tuple(f"p{k}" for k in range(len(points)))
    covariances = np.array([np.eye(3) * spread**2 for spread in spreads])
    known = tuple(spread == 0 for spread in spreads)
    return NetworkDrawing(names, points, covariances, known, ((0, 1),), (), ("aft", "right", "up"), units)


def texts(svg: str) -> str:
    return " ".join(element.text or "" for element in ElementTree.fromstring(svg).iter())


def test_a_point_that_is_not_fixed_is_a_ring_and_does_not_shrink_the_ellipses_of_the_others() -> None:
    """Oracle: by hand. Of spreads 0, 1 mm and 1 km the largest that is told is 2.4477 mm, rounded up."""
    svg = survey_svg(drawing(np.array([[0, 0, 0], [500, 100, 50], [200, 0, 80.0]]), [0.0, 1.0, 1e6]))
    assert "Largest: 2.5 mm" in texts(svg)
    assert "rings of dashes" in texts(svg)
    assert svg.count("stroke-dasharray") == 2


def test_points_in_one_vertical_keep_the_picture_in_bounds() -> None:
    """Oracle: by hand: 1 m of height and no width may not be drawn at the scale of the width."""
    svg = survey_svg(drawing(np.array([[0, 0, 0], [0, 0, 1000.0]]), [0.0, 1.0]))
    assert float(ElementTree.fromstring(svg).attrib["height"]) < 1600


def test_scenes_in_inches_are_told_in_inches() -> None:
    """Oracle: by hand. 2.4477 times 2.54 mm is 0.24477 in."""
    svg = survey_svg(drawing(np.array([[0, 0, 0], [500, 100, 50.0]]), [0.0, 2.54], "in"))
    assert "Largest: 0.245 in" in texts(svg)
    assert "5 in (127 mm)" in texts(svg)
