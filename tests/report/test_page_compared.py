"""The section of the page that sets layouts side by side."""

from __future__ import annotations

import re
from base64 import b64decode
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from packcheck import load
from packcheck.arrays import Floats
from packcheck.comparison import compared
from packcheck.report.as_page import as_page
from packcheck.report.page_compared import SideBySide, compared_section
from packcheck.report.pictures.arrangements import changed
from tests.cli.running import run
from tests.scene.writing import write

SCENE = """\
packcheck: 1
title: Three cubes
parts:
  a: {box: [100, 100, 100], mass: 2 kg}
  b: {box: [100, 100, 100], at: [104, 0, 0], mass: 2 kg}
  far: {box: [60, 60, 60], at: [0, 0, 300]}
clearances: {use: none, default: 10}
layouts:
  aft: {parts: {b: {at: [150, 0, 0]}}}
  "<i>without</i>": {parts: {b: null, c: {box: [20, 20, 20], at: [0, 0, 90]}}}
"""


@pytest.fixture(scope="module")
def side(tmp_path_factory: pytest.TempPathFactory) -> SideBySide:
    path = write(tmp_path_factory.mktemp("scene"), SCENE)
    bays = {"as written": load(path)} | {name: load(path, layout=name) for name in ("aft", "<i>without</i>")}
    comparison = compared([bay.alternative(name) for name, bay in bays.items()])
    return SideBySide(comparison, tuple(bay.model() for bay in bays.values()))


def test_the_section_tells_order_figures_and_changes(side: SideBySide) -> None:
    """Oracle: by head: 4 mm becomes 50; half the mass moves 46 mm aft, so the centre moves 23."""
    told = compared_section(side)
    assert [(rank["place"], rank["name"]) for rank in told["ranking"]][-1] == ("3.", "as written")
    assert told["rows"][0][:5] == ["as written", "1", "0", "0", "2"]
    assert told["rows"][1][-1] == "+23.0, +0.0, +0.0 mm"
    (row,) = told["changes"][0]["rows"]
    assert (row["kind"], row["subjects"]) == ("Vanishes", "a \u2013 b")


def test_what_differs_is_told_under_its_picture(side: SideBySide) -> None:
    assert changed(side.models[0], side.models[1]) == ("b",)
    moved = [shown["moved"] for shown in compared_section(side)["pictures"]]
    assert moved == ["", "changed: b", "changed: c; gone: b"]


def pixels(svg: str) -> Floats:
    from PIL import Image

    (data,) = re.findall(r'href="data:image/png;base64,([^"]+)"', svg)
    return np.asarray(Image.open(BytesIO(b64decode(data))).convert("RGB"), dtype=float)


def test_all_pictures_are_seen_from_the_same_place(side: SideBySide) -> None:
    """What stands still has the same pixels in each: the upper cube, and nothing else is up there."""
    drawn = [pixels(shown["svg"]) for shown in compared_section(side)["pictures"]]
    top = slice(0, drawn[0].shape[0] // 3)
    assert (drawn[0][top] < 250).any()
    assert (drawn[0][top] == drawn[1][top]).all() and (drawn[0][top] == drawn[2][top]).all()
    assert (drawn[0] != drawn[1]).any()


def test_names_are_escaped_and_nothing_is_loaded(side: SideBySide) -> None:
    first = side.comparison.alternatives[0].report
    page = as_page(first, side.models[0], version="0", side_by_side=side)
    section = page[page.index('<section class="rest layouts"') :]
    section = section[: section.index("</section>")]
    assert "<i>without</i>" not in section and "&lt;i&gt;without&lt;/i&gt;" in section
    assert not re.search(r'(?:src|href)="(?!data:|#)', section) and "<script" not in section
    assert page.count("<svg") == page.count("</svg>")


def test_without_arrangements_there_is_no_section(side: SideBySide) -> None:
    first = side.comparison.alternatives[0].report
    assert 'id="layouts"' not in as_page(first, side.models[0], version="0")


def test_the_command_sets_layouts_beside_the_report(tmp_path: Path) -> None:
    path, page = write(tmp_path, SCENE), tmp_path / "page.html"
    assert run("report", path, "aft", "-o", str(page)).exit_code == 1
    text = page.read_text("utf-8")
    assert text.count("<figcaption><strong>") == 2 and "<h3>aft, against as written</h3>" in text
    assert run("report", path, "--compare", "-o", str(page)).exit_code == 1
    assert page.read_text("utf-8").count("<figcaption><strong>") == 3
    assert run("report", path, "--compare", "--layout", "aft", "-o", str(page)).exit_code == 0
    assert "against aft</h3>" in page.read_text("utf-8")
    told = run("report", path, "aftt", "-o", str(page))
    assert told.exit_code == 2 and "did you mean 'aft'" in told.output
    assert run("report", path, path, "-o", str(page)).exit_code == 2
