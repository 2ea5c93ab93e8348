"""Pictures of findings show what they say: the offender's colour, the stripes, the gap at its place."""

from __future__ import annotations

import re
from base64 import b64decode
from dataclasses import replace
from io import BytesIO

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

from packcheck.arrays import frozen
from packcheck.findings import Finding, Verdict
from packcheck.report.pictures.drawn import Painted, drawing
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.finding import figure
from packcheck.report.pictures.overview import overview
from packcheck.report.pictures.png import png
from packcheck.report.pictures.view import View
from packcheck.scene.model.scene import Box
from packcheck.surfaces import FAIL, PLAIN, UNSURE, Colour, Model
from tests.bays import bay, part

Pixels = npt.NDArray[np.uint8]

BAY = bay(
    part("left_box", Box((60.0, 60.0, 60.0)), at=(0.0, 0.0, 0.0)),
    part("middle_box", Box((60.0, 60.0, 60.0)), at=(0.0, 64.0, 0.0)),
    part("right_box", Box((60.0, 60.0, 60.0)), at=(0.0, 128.0, 0.0)),
)
MODEL = BAY.model()
FIRST, SECOND = sorted(BAY.check(moves=False).findings, key=lambda finding: finding.subjects)[:2]


def shown(svg: str) -> Pixels:
    found = re.search(r"data:image/png;base64,([^\"]+)", svg)
    assert found
    return np.array(Image.open(BytesIO(b64decode(found[1]))).convert("RGB"))


def like(pixels: Pixels, colour: Colour) -> npt.NDArray[np.bool_]:
    """Pixels that are a shade of `colour`: the same proportions of red, green and blue, not darker than half."""
    shade = pixels.astype(float).sum(axis=2) / sum(colour)
    near = np.abs(pixels - shade[..., None] * np.array(colour)).max(axis=2) < 12
    found: npt.NDArray[np.bool_] = near & (shade > 0.4) & (shade < 1.05)
    return found


def around(pixels: Pixels, at: npt.NDArray[np.int64]) -> Pixels:
    return pixels[at[1] - 12 : at[1] + 12, at[0] - 12 : at[0] + 12]


def segment(svg: str) -> npt.NDArray[np.float64]:
    """Ends (2, 2) px of the dimension: the first line drawn in ink over the picture."""
    found = re.search(r'points="([^"]+)" fill="none" stroke="#20262b" stroke-width="3"', svg)
    assert found
    return np.array([[float(x) for x in point.split(",")] for point in found[1].split()])


def test_the_offender_is_in_its_colour_and_swaps_with_the_finding() -> None:
    """Oracle: by head. Left and middle are 4 mm apart: they are coloured; then middle and right are."""
    spots = []
    for finding in (FIRST, SECOND):
        made = figure(finding, MODEL, Onlooker(MODEL), "mm")
        assert made
        pixels = shown(made.spot)
        coloured = like(pixels, FAIL)
        assert coloured.sum() > 3000
        spots.append(coloured)
    assert FIRST.subjects == ("left_box", "middle_box")
    assert SECOND.subjects == ("middle_box", "right_box")


def test_the_gap_is_drawn_where_its_witness_points_are_seen() -> None:
    """Oracle: closed form. 4 mm square to the view; the middle of the gap is the middle of the picture."""
    made = figure(FIRST, MODEL, Onlooker(MODEL), "mm")
    assert made
    for svg in (made.spot, made.cut):
        ends = segment(svg)
        assert ends.mean(axis=0) == pytest.approx([320, 240], abs=0.1)
    scale = 480 / 45.0  # px to the mm: a cut shows 45 mm at the least
    assert np.linalg.norm(np.diff(segment(made.cut), axis=0)) == pytest.approx(4 * scale, abs=0.2)


def test_the_pixels_beside_the_gap_belong_to_the_two_parts() -> None:
    """Oracle: by head. Just beyond each end of the gap begins a part: the first plain, the second striped."""
    made = figure(FIRST, MODEL, Onlooker(MODEL), "mm")
    assert made
    pixels, ends = shown(made.spot), segment(made.spot)
    along = (ends[0] - ends[1]) / np.linalg.norm(ends[0] - ends[1])
    below = np.array([0.0, 30.0])  # the witness points lie on the upper edges of the two faces
    inside_first = (ends[0] + along * 30 + below).round().astype(int)
    inside_second = (ends[1] - along * 30 + below).round().astype(int)
    assert like(around(pixels, inside_first), FAIL).mean() > 0.95
    assert 0.2 < like(around(pixels, inside_second), FAIL).mean() < 0.6


def test_what_is_undecided_is_blue_and_dashed_and_what_passes_is_grey() -> None:
    for finding, colour, dashed in (
        (replace(FIRST, high=None, low=None), UNSURE, True),
        (replace(FIRST, low=40.0, high=40.0), PLAIN, False),
    ):
        made = figure(finding, MODEL, Onlooker(MODEL), "mm")
        assert made
        assert like(shown(made.spot), colour).sum() > 3000
        assert not like(shown(made.spot), FAIL).any()
        assert ("stroke-dasharray" in made.cut) is dashed


def test_a_finding_without_a_place_or_a_surface_has_no_picture() -> None:
    assert figure(replace(FIRST, points=None), MODEL, Onlooker(MODEL), "mm") is None
    assert figure(FIRST, Model(), Onlooker(Model()), "mm") is None


def test_touching_parts_have_a_picture() -> None:
    touching = replace(FIRST, points=frozen([[0.0, 30.0, 0.0], [0.0, 30.0, 0.0]]), value=0.0, direction=None)
    assert figure(touching, MODEL, Onlooker(MODEL), "mm")


def test_every_finding_that_needs_one_has_a_number_in_the_overview() -> None:
    svg = overview([FIRST, SECOND], MODEL, Onlooker(MODEL), "mm")
    assert re.findall(r'href="#finding-(\d+)"', svg) == ["1", "2"]
    assert like(shown(svg), FAIL).sum() > 10_000


def test_a_crowd_of_numbers_stays_in_the_picture_and_apart() -> None:
    """Oracle: by head. Twenty numbers at one spot: discs of 15 px no nearer than their own width."""
    svg = overview([FIRST] * 20, MODEL, Onlooker(MODEL), "mm")
    discs = np.array(re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="15"', svg), dtype=float)
    apart = np.linalg.norm(discs[:, None] - discs[None], axis=2) + np.eye(len(discs)) * 1e9
    assert len(discs) == 20
    assert apart.min() > 28
    assert (discs > 0).all()
    assert (discs < [1200, 820]).all()


def test_an_empty_bay_has_no_overview() -> None:
    assert overview([], Model(), Onlooker(Model()), "mm") == ""


def test_no_findings_no_numbers() -> None:
    assert "finding-" not in overview([replace(FIRST, low=40.0, high=40.0)], MODEL, Onlooker(MODEL), "mm")


def test_clear_surfaces_let_through_only_what_is_behind_them() -> None:
    """Oracle: closed form. Half clear blue over white is half way; in front of it nothing is changed."""
    left, middle, _ = MODEL.surfaces
    view = View(np.array([0.0, 32.0, 0.0]), np.array([[1.0, 0, 0], [0, 0, 1], [0, -1.0, 0]]), 2.0, 200, 200)
    alone = drawing(view, [[Painted(left, (0, 0, 200))]])
    veiled = drawing(view, [[Painted(left, (0, 0, 200))], [Painted(middle, (200, 0, 0), clear=0.5)]])
    before = drawing(view, [[Painted(middle, (200, 0, 0))], [Painted(left, (0, 0, 200), clear=0.5)]])
    assert (veiled == alone).all()
    assert before[100, 100, 0] > 40
    assert before[100, 100, 2] > 40


def test_a_png_reads_back_as_it_was_drawn() -> None:
    """Oracle: a second library's reader."""
    rng = np.random.default_rng(1)
    few = rng.integers(0, 256, (7, 3)).astype(np.uint8)[rng.integers(0, 7, (31, 17))]
    assert (np.array(Image.open(BytesIO(png(few))).convert("RGB")) == few).all()
    many = rng.integers(0, 256, (64, 64, 3)).astype(np.uint8)
    back = np.array(Image.open(BytesIO(png(many))).convert("RGB")).astype(int)
    assert np.abs(back - many).max() <= 128


def test_every_verdict_has_a_colour() -> None:
    blank = Finding("gaps", ("left_box", "middle_box"), "", points=FIRST.points)
    for finding in (replace(blank, skipped="no"), blank):
        assert finding.verdict in Verdict
        assert figure(finding, MODEL, Onlooker(MODEL), "mm")
