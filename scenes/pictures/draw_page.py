"""Draws the report page of the demo bay for the manual: on a desk and on a phone, at its first finding.

    pip install playwright pillow         (and Chromium: apt install chromium)
    python scenes/pictures/draw_page.py

Writes report_page.png beside the chapters of the manual. The page is packcheck's own, opened from its file with
the network off.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

import packcheck
from packcheck.report.as_page import as_page

ROOT = Path(__file__).parents[2]
SCENE = "scenes/hillclimb_rear_bay.yaml"  # as the page names it: where it lies here is nobody's business
PICTURE = Path(__file__).parents[2] / "packcheck" / "manual" / "pictures" / "report_page.png"

DESK, PHONE = (1240, 780), (390, 780)  # px
MARGIN = 24  # px
COLOURS = 96
FLAGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


def main() -> None:
    os.chdir(ROOT)
    bay = packcheck.load(SCENE)
    report = bay.check()
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "report.html"
        page.write_text(as_page(report, bay.model(report), version=packcheck.__version__), encoding="utf-8")
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            desk, phone = shot(browser, page, DESK, phone=False), shot(browser, page, PHONE, phone=True)
            browser.close()
    side_by_side(desk, phone).save(PICTURE, optimize=True)


def shot(browser: Browser, page: Path, size: tuple[int, int], *, phone: bool) -> Image.Image:
    """The page at its first finding: the model on a desk, the card on a phone."""
    width, height = size
    context = browser.new_context(viewport={"width": width, "height": height}, is_mobile=phone, offline=True)
    shown = context.new_page()
    shown.set_default_timeout(300_000)
    shown.goto(page.as_uri())
    shown.wait_for_selector("html[data-model=ready]")
    shown.locator('[data-goto="1"]').click()
    shown.wait_for_timeout(5000)
    shown.evaluate("() => scrollTo({top: 0, behavior: 'instant'})")
    shown.wait_for_timeout(1000)
    if phone:
        shown.locator("#finding-1").evaluate("card => card.scrollIntoView()")
        shown.wait_for_timeout(2000)
    picture = Image.open(BytesIO(shown.screenshot())).convert("RGB")
    context.close()
    return picture


def side_by_side(desk: Image.Image, phone: Image.Image) -> Image.Image:
    whole = Image.new("RGB", (desk.width + phone.width + 3 * MARGIN, desk.height + 2 * MARGIN), "white")
    for picture, left in ((desk, MARGIN), (phone, desk.width + 2 * MARGIN)):
        whole.paste("#c9ced2", (left - 1, MARGIN - 1, left + picture.width + 1, MARGIN + picture.height + 1))
        whole.paste(picture, (left, MARGIN))
    return whole.quantize(COLOURS, dither=Image.Dither.NONE)


if __name__ == "__main__":
    main()
