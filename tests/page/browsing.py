"""A real browser, without a screen and without a network, for tests of the page."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

__all__ = ["browser", "looking_at"]

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
PATIENCE = 120_000  # ms; WebGL in software is slow on a loaded machine


@contextmanager
def browser() -> Iterator[Browser]:
    path = next(filter(None, map(shutil.which, NAMES)), None)
    assert path, "the page's tests drive Chromium: apt-get install chromium"
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


@contextmanager
def looking_at(
    running: Browser,
    page: Path,
    *,
    width: int = 1280,
    height: int = 800,
    phone: bool = False,
    script: bool = True,
    model: bool = True,
    quiet: bool = True,
    before: str = "",
) -> Iterator[Page]:
    """The page from its file, offline; with a `model` once that is drawn, or known not to be.

    `before` is a script that runs before the page's own. Afterwards nothing but the file was asked for, and, when
    `quiet`, nothing was complained of.
    """
    context = running.new_context(
        viewport={"width": width, "height": height},
        is_mobile=phone,
        has_touch=phone,
        offline=True,
        java_script_enabled=script,
    )
    if before:
        context.add_init_script(before)
    shown = context.new_page()
    shown.set_default_timeout(PATIENCE)
    asked: list[str] = []
    said: list[str] = []
    shown.on("request", lambda request: asked.append(request.url))
    shown.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    shown.on("pageerror", lambda error: said.append(str(error)))
    shown.goto(page.as_uri())
    if script and model:
        shown.wait_for_selector("html[data-model]")
    yield shown
    context.close()
    assert asked == [page.as_uri()]
    assert not quiet or not [line for line in said if "GPU stall" not in line]
