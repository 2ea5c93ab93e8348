"""The sheet of three views: valid, complete, and the right way round."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import numpy as np
import pytest

from packcheck.report.sheet_svg import FEW_NAMES, DrawnPart, DrawnView, sheet_svg

SVG = "{http://www.w3.org/2000/svg}"
SIDES = ("front", "rear", "left", "right")


def square(name: str, x: float, y: float, *kinds: str) -> DrawnPart:
    polygon = np.array([[x, y], [x + 10, y], [x + 10, y + 10], [x, y + 10]])
    return DrawnPart(name, kinds, (polygon,))


def view(name: str, *parts: DrawnPart) -> DrawnView:
    return DrawnView(name, parts, (("car", np.zeros(2)), ("foot", np.zeros(2))), SIDES)


def sheet(*parts: DrawnPart, units: str = "mm") -> ET.Element:
    views = [view(name, *parts) for name in ("from above", "from the left", "from behind")]
    return ET.fromstring(sheet_svg("A <bay> & more", views, units))


def texts(root: ET.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def corners(root: ET.Element, name: str) -> list[tuple[float, float, float, float]]:
    """Least and greatest px of a part in each view."""
    found = []
    for path in root.iter(f"{SVG}path"):
        title = path.find(f"{SVG}title")
        if title is not None and title.text == name:
            points = np.array([float(x) for x in re.findall(r"-?\d+\.\d", path.get("d", ""))]).reshape(-1, 2)
            found.append((*points.min(axis=0).tolist(), *points.max(axis=0).tolist()))
    return found


def test_every_part_is_drawn_and_named_in_every_view() -> None:
    root = sheet(square("pump", 0, 0), square("tank", 60, 80))
    assert len(corners(root, "pump")) == len(corners(root, "tank")) == 3
    assert texts(root).count("pump") == texts(root).count("tank") == 3


def test_right_is_right_and_up_is_up() -> None:
    root = sheet(square("pump", 0, 0), square("tank", 60, 80))
    for pump, tank in zip(corners(root, "pump"), corners(root, "tank"), strict=True):
        assert pump[2] < tank[0] and pump[1] > tank[3]


def test_all_views_have_one_scale_and_shared_edges() -> None:
    """Oracle: by head: squares of 10 mm are as wide as high, and as large in each view."""
    above, left, behind = corners(sheet(square("pump", 0, 0), square("tank", 60, 80)), "tank")
    for x1, y1, x2, y2 in (above, left, behind):
        assert x2 - x1 == pytest.approx(above[2] - above[0], abs=0.2)
        assert y2 - y1 == pytest.approx(x2 - x1, abs=0.2)
    assert above[0] == left[0]
    assert left[1] == behind[1]


@pytest.mark.parametrize(("units", "said"), [("mm", "20 mm"), ("in", "1 in")])
def test_the_scale_is_told(units: str, said: str) -> None:
    assert texts(sheet(square("pump", 0, 0), square("tank", 60, 80), units=units)).count(said) == 3


def test_marks_that_fall_together_share_a_name() -> None:
    assert texts(sheet(square("pump", 0, 0), square("tank", 60, 80))).count("car, foot") == 3


def test_many_parts_are_numbered_and_listed() -> None:
    parts = [square(f"part_{k:02}", 20.0 * (k % 5), 20.0 * (k // 5)) for k in range(FEW_NAMES + 1)]
    said = texts(sheet(*parts))
    assert said.count("15") == 3
    assert said.count("15  part_14") == 1


def test_labels_do_not_cover_each_other() -> None:
    """Oracle: brute force over all labels of one view; all parts stand in one spot."""
    root = sheet(*(square(f"part_{k:02}", 0, 0) for k in range(8)), square("far", 300, 300))
    labels = [
        (float(t.get("x", 0)), float(t.get("y", 0))) for t in root.iter(f"{SVG}text") if "part_" in str(t.text)
    ]
    for (x1, y1), (x2, y2) in pairwise(sorted(labels[:8], key=lambda label: label[1])):
        assert abs(y1 - y2) > 10 or abs(x1 - x2) > 40


def test_names_and_titles_cannot_break_the_drawing() -> None:
    root = sheet(square("<pump> & \x1b co", 0, 0, "fuel"), square("tank", 60, 80, "body"))
    assert "A <bay> & more" in texts(root)
    assert "<pump> & \\x1b co" in texts(root)


def test_the_same_views_give_the_same_bytes() -> None:
    views = [view(name, square("pump", 0, 0), square("tank", 60, 80)) for name in "abc"]
    assert sheet_svg("x", views, "mm") == sheet_svg("x", views, "mm")
