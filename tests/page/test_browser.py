"""The page in a real browser: from its file, offline, on a desk, on a phone, without scripts, on paper."""

from __future__ import annotations

import json
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

import packcheck
from packcheck.report.as_json import as_json
from packcheck.report.as_page import as_page
from packcheck.surfaces import Model
from tests.cli.running import run
from tests.page.browsing import browser, looking_at
from tests.report.made import finding, report

Pixels = npt.NDArray[np.int64]

ROOT = Path(__file__).parents[2]
HOSTILE = '"<script>document.title=1</script>"'

NO_WEBGL = "HTMLCanvasElement.prototype.getContext = () => null"

SCENE = f"""packcheck: 1
title: Two boxes
parts:
  {HOSTILE}: {{kind: exhaust, box: [80, 60, 60], at: [0, 0, 0]}}
  tank: {{kind: fuel, box: [60, 60, 60], at: [0, 66, 0]}}
  shelf: {{kind: structure, box: [300, 300, 4], at: [0, 0, -60]}}
clearances: {{use: none, default: 10 mm}}
"""


MOVING = """packcheck: 1
parts:
  slider: {kind: air, box: [40, 40, 40], at: [0, 0, 0]}
  stop: {kind: engine, box: [40, 40, 40], at: [0, 83, 0]}
motions:
  slides: {carries: slider, travel: {by: [0, 1, 0], from: 0, to: 40}}
clearances: {use: none, default: 10 mm}
"""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as running:
        yield running


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small")
    (folder / "scene.yaml").write_text(SCENE, encoding="utf-8")
    return written(folder, "scene.yaml")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("demo"), ROOT / "scenes" / "hillclimb_rear_bay.yaml")


def written(folder: Path, scene: str | Path) -> Path:
    """The page of a scene, and its JSON beside it."""
    bay = packcheck.load(folder / scene)
    made = bay.check(moves=False)
    page = folder / "report.html"
    page.write_text(as_page(made, bay.model(made), version="0.1.0"), encoding="utf-8")
    page.with_suffix(".json").write_text(as_json(made, version="0.1.0"), encoding="utf-8")
    return page


def canvas(shown: Page) -> Pixels:
    return np.array(Image.open(BytesIO(shown.locator("canvas").screenshot())).convert("RGB"), dtype=np.int64)


def orange(pixels: Pixels) -> int:
    """How many pixels are a shade of the hue of what falls short: much red, some green, next to no blue."""
    red, green, blue = pixels[..., 0], pixels[..., 1], pixels[..., 2]
    return int(((red > 110) & (blue < 0.12 * red) & (abs(green - 0.41 * red) < 0.1 * red)).sum())


def sideways(shown: Page) -> int:
    """By how many px the page is wider than its window."""
    return int(shown.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def test_the_model_draws_and_the_offender_is_in_its_colour(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small) as shown:
        assert shown.get_attribute("html", "data-model") == "ready"
        pixels = canvas(shown)
        assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 50
        assert orange(pixels) > 500
        assert shown.title().startswith("Two boxes")


def test_tapping_the_first_finding_moves_the_camera_there(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small, width=390, height=844, phone=True) as shown:
        before = shown.get_attribute("canvas", "data-eye") or ""
        shown.locator('[data-goto="1"]').tap()
        expect(shown.locator("canvas")).not_to_have_attribute("data-eye", before)
        assert "tight" in shown.locator(".said").inner_text()
        assert shown.locator(".gap-label").inner_text() == "6.0 mm"
        assert shown.get_attribute("#finding-1", "aria-current") == "true"


def test_keys_and_buttons_turn_the_model_and_step_through_findings(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small) as shown:
        shown.focus("canvas")
        eyes = [shown.get_attribute("canvas", "data-eye") or ""]
        for key in ("ArrowLeft", "ArrowUp", "+", "n", "Home"):
            shown.keyboard.press(key)
            expect(shown.locator("canvas")).not_to_have_attribute("data-eye", eyes[-1])
            shown.wait_for_timeout(700)
            eyes.append(shown.get_attribute("canvas", "data-eye") or "")
        assert len(set(eyes)) == 5
        assert eyes[-1] == eyes[0]
        assert shown.locator(".said").inner_text() == "The whole bay"


def test_hiding_a_kind_takes_its_parts_off_the_picture(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small) as shown:
        before = orange(canvas(shown))
        shown.locator("summary", has_text="Show and hide kinds").click()
        shown.get_by_label("exhaust").uncheck()
        assert orange(canvas(shown)) < before * 0.7
        shown.get_by_label("exhaust").check()
        assert orange(canvas(shown)) > before * 0.9


def test_the_cut_takes_material_away(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small) as shown:
        before = canvas(shown)
        shown.locator("select").select_option("x")
        shown.locator("input[type=range]").fill("20")
        assert (canvas(shown) != before).any(axis=2).mean() > 0.02


def test_the_cut_through_a_finding_can_be_slid(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small) as shown:
        shown.locator('[data-goto="1"]').click()
        shown.locator("select").select_option("finding")
        slider = shown.locator("input[type=range]")
        assert slider.input_value() == "50"
        through = canvas(shown)
        slider.fill("80")
        assert (canvas(shown) != through).any(axis=2).mean() > 0.005
        shown.locator("select").select_option("")
        assert slider.is_disabled()


def test_a_moving_finding_is_shown_in_its_pose_in_the_model(chrome: Browser, tmp_path: Path) -> None:
    """Oracle: by head. The slider's middle is seen 40 mm farther on, where the finding has it, than at rest."""
    (tmp_path / "scene.yaml").write_text(MOVING, encoding="utf-8")
    page = written(tmp_path, "scene.yaml")
    data = json.loads(page.read_text(encoding="utf-8").split('id="bay-data">')[1].split("</script>")[0])
    (look,) = [look for look in data["findings"] if look["stance"] is not None][:1]
    assert data["stances"][look["stance"]]["slider"][12:15] == pytest.approx([0.0, 40.0, 0.0])
    with looking_at(chrome, page) as shown:
        shown.locator(f'[data-goto="{look["number"]}"]').first.click()
        assert "tight" in shown.locator(".said").inner_text()


def test_tables_sort_by_their_heads(chrome: Browser, tmp_path: Path) -> None:
    page = tmp_path / "many.html"
    many = [finding(20.0 + k, names=(f"part_{k}", "rail"), word="clear") for k in (3, 1, 2)]
    page.write_text(as_page(report(*many), Model(), version="0.1.0"), encoding="utf-8")
    with looking_at(chrome, page, model=False) as shown:
        head = shown.get_by_role("button", name="Gap, limit")
        head.click()
        assert [row.split("\t")[2][:6] for row in shown.locator("tbody tr").all_inner_texts()] == [
            "part_1",
            "part_2",
            "part_3",
        ]
        head.click()
        assert shown.locator("tbody tr").first.inner_text().split("\t")[2].startswith("part_3")
        assert shown.locator("th[aria-sort=descending]").count() == 1


@pytest.mark.parametrize(("width", "height", "phone"), [(320, 640, True), (390, 844, True), (1280, 800, False)])
def test_no_window_makes_the_demo_scroll_sideways(
    width: int, height: int, phone: bool, chrome: Browser, demo: Path
) -> None:
    with looking_at(chrome, demo, width=width, height=height, phone=phone) as shown:
        assert sideways(shown) <= 0


def test_the_demo_is_light_and_draws(chrome: Browser, demo: Path) -> None:
    assert demo.stat().st_size < 8_000_000
    with looking_at(chrome, demo) as shown:
        assert shown.get_attribute("html", "data-model") == "ready"
        assert (canvas(shown).min(axis=-1) < 200).sum() > 1000


def test_without_a_script_every_finding_can_be_read(chrome: Browser, demo: Path) -> None:
    """Oracle: the JSON report's count; visible means that the browser gives it a place on the page."""
    told = json.loads(demo.with_suffix(".json").read_text(encoding="utf-8"))["findings"]
    with looking_at(chrome, demo, width=390, height=844, phone=True, script=False) as shown:
        found = shown.locator("[data-finding]")
        assert found.count() == len(told)
        assert all(found.nth(k).is_visible() for k in range(len(told)))
        assert shown.locator(".overview svg").is_visible()
        assert shown.locator(".card .pictures").count() == sum(entry["verdict"] != "pass" for entry in told)
        assert not shown.locator("#model").is_visible()
        assert not shown.locator("[data-goto]").first.is_visible()


def test_without_webgl_the_page_says_so_and_keeps_its_pictures(chrome: Browser, small: Path) -> None:
    with looking_at(chrome, small, before=NO_WEBGL, quiet=False) as shown:
        assert shown.get_attribute("html", "data-model") == "none"
        assert shown.locator("#no-model").is_visible()
        assert shown.locator(".overview svg").is_visible()


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_it_prints_on_sane_pages(paper: str, size: tuple[int, int], chrome: Browser, demo: Path) -> None:
    """Oracle: ISO 216 A4 and ANSI Letter in points of 1/72 in. Ink on every page, none in the outer 5 mm."""
    with looking_at(chrome, demo) as shown:
        document = pypdfium2.PdfDocument(shown.pdf(format=paper, prefer_css_page_size=False))
    assert 5 <= len(document) <= 24
    text = " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())
    told = json.loads(demo.with_suffix(".json").read_text(encoding="utf-8"))
    assert f"{told['counts']['fail']} shortfalls found" in text
    unbroken = text.replace(" ", "").replace("\ufffe", "")  # names may be broken at the end of a line
    assert all(name in unbroken for finding in told["findings"] for name in finding["subjects"])
    assert "Show in the model" not in text
    for title in ("Passing, closest to their limit first", "Lengths to cut", "For the record"):
        assert title in text
    assert text.count("Gap, limit") >= 2  # the heads of a table stand again on its next page
    for page in document:
        assert page.get_size() == pytest.approx(size, abs=1.5)
        ink = np.array(page.render(scale=1).to_pil().convert("L")) < 200
        assert ink.mean() > 0.005
        assert not (ink[:14].any() or ink[-14:].any() or ink[:, :14].any() or ink[:, -14:].any())


@pytest.fixture(scope="module")
def beside(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of a scene with three layouts beside it."""
    folder = tmp_path_factory.mktemp("beside")
    layouts = (
        "layouts: {" + ", ".join(f"l{k}: {{parts: {{tank: {{at: [0, {70 + k}, 0]}}}}}}" for k in range(3)) + "}"
    )
    (folder / "scene.yaml").write_text(f"{SCENE}{layouts}\n", encoding="utf-8")
    page = folder / "page.html"
    assert run("report", folder / "scene.yaml", "--compare", "-o", page).exit_code == 1
    return page


@pytest.mark.parametrize(("width", "columns"), [(390, 1), (1280, 2)])
def test_layouts_beside_each_other_without_scripts(chrome: Browser, beside: Path, width: int, columns: int) -> None:
    """On a phone one picture below the other and nothing wider than the screen; on a desk two in a row."""
    with looking_at(chrome, beside, width=width, phone=width < 500, script=False, model=False) as page:
        expect(page.locator("#layouts .ranking li")).to_have_count(4)
        boxes = [figure.bounding_box() for figure in page.locator("#layouts figure").all()]
        assert len({round(box["x"]) for box in boxes if box}) == columns
        section = page.locator("#layouts").bounding_box()
        assert section is not None and section["x"] >= 0 and section["x"] + section["width"] <= width


def test_the_bay_never_covers_what_is_below(chrome: Browser, beside: Path) -> None:
    with looking_at(chrome, beside, model=False) as page:
        page.evaluate(
            "document.querySelector('#layouts h3').scrollIntoView({block: 'center', behavior: 'instant'})"
        )
        over = """(() => { const box = document.querySelector('#layouts h3').getBoundingClientRect();
          return document.elementFromPoint(box.x + 5, box.y + 5).closest('.bay') === null })()"""
        assert page.evaluate(over)
