"""Flat things drawn by the graphics library: boxes, lines and words, px from the upper left of a renderer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.report.pictures.marks import OPEN, hue
from packcheck.surfaces import INK, Colour
from packcheck.viewer.panel import EDGE, KNOB, SMALL, Item

__all__ = ["GROUND", "Board", "flat_lines", "font_file", "shares", "words"]

GROUND: Final = (245, 246, 247)
SOFT: Final = (84, 93, 100)
RULE: Final = (196, 202, 206)
WHITE: Final = (255, 255, 255)


def shares(colour: Colour) -> tuple[float, float, float]:
    """A colour in shares of 1."""
    red, green, blue = (part / 255 for part in colour)
    return red, green, blue


@cache
def font_file(*, bold: bool = False) -> str | None:
    """A font with letters of most languages: it comes with a library that the graphics library needs."""
    found = find_spec("matplotlib")
    folder = Path(found.origin).parent if found and found.origin else Path()
    path = folder / "mpl-data" / "fonts" / "ttf" / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")
    return str(path) if path.is_file() else None


def words(
    text: str,
    x: float,
    y: float,
    *,
    size: int = SMALL,
    colour: Colour = INK,
    bold: bool = False,
    end: str = "left",
    ground: bool = False,
) -> Any:
    """A line of words with its middle at `y`, px from below; `end` stands at `x`; with a `ground` on white."""
    from vtkmodules.vtkRenderingCore import vtkTextActor

    actor = vtkTextActor()
    actor.SetInput(text)
    actor.SetTextScaleModeToNone()
    looks = actor.GetTextProperty()
    file = font_file(bold=bold)
    if file is not None:
        looks.SetFontFamily(4)  # from a file
        looks.SetFontFile(file)
    looks.SetFontSize(size)
    looks.SetColor(*shares(colour))
    looks.SetLineSpacing(1.25)
    if ground:
        looks.SetBackgroundColor(1.0, 1.0, 1.0)
        looks.SetBackgroundOpacity(0.82)
    looks.SetVerticalJustificationToCentered()
    (looks.SetJustificationToRight if end == "right" else looks.SetJustificationToLeft)()
    actor.SetPosition(x, y)
    return actor


def flat_lines(pieces: Floats, colour: Colour, width: float) -> Any:
    """Straight pieces (m, 2, 2), px from the lower left, as one thing."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D

    ends = np.column_stack([pieces.reshape(-1, 2), np.zeros(2 * len(pieces))])
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(pv.line_segments_from_points(ends))
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*shares(colour))
    actor.GetProperty().SetLineWidth(width)
    return actor


def _patch(corners: Sequence[tuple[float, float]], colour: Colour) -> Any:
    """A filled shape, px from the lower left."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D

    points = np.column_stack([np.array(corners), np.zeros(len(corners))])
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(pv.PolyData(points, faces=[len(corners), *range(len(corners))]))
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*shares(colour))
    return actor


@dataclass(slots=True)
class Board:
    """Items of a panel in a renderer of their own. What stays the same from one showing to the next is kept."""

    renderer: Any
    _shown: dict[Item, list[Any]] = field(default_factory=dict)
    _height: int = 0

    def show(self, items: Sequence[Item]) -> None:
        height = self.renderer.GetSize()[1]
        kept = set(items) if height == self._height else set()
        for item in [item for item in self._shown if item not in kept]:
            for actor in self._shown.pop(item):
                self.renderer.RemoveViewProp(actor)
        self._height = height
        for item in items:
            if item not in self._shown:
                self._shown[item] = list(self._drawn(item))
                for actor in self._shown[item]:
                    self.renderer.AddViewProp(actor)

    def _drawn(self, item: Item) -> Iterator[Any]:
        yield from getattr(self, f"_{item.sort}")(item)

    def _box(self, left: float, top: float, width: float, height: float, colour: Colour) -> Any:
        low, high = self._height - top - height, self._height - top
        return _patch([(left, low), (left + width, low), (left + width, high), (left, high)], colour)

    def _words(self, text: str, x: float, y: float, **looks: Any) -> Any:
        return words(text, x, self._height - y, **looks)

    def _head(self, item: Item) -> Iterator[Any]:
        yield self._words(item.text, item.left, item.top + item.height / 2 + 2, bold=True)

    def _quiet(self, item: Item) -> Iterator[Any]:
        if item.text:
            yield self._words(item.text, item.left, item.top + item.height / 2)

    def _row(self, item: Item) -> Iterator[Any]:
        assert item.verdict is not None
        if item.on:
            yield self._box(item.left, item.top, item.width, item.height, WHITE)
        yield from self._bar(item, hue(item.verdict), dashed=item.verdict in OPEN)
        first, second = item.top + 11, item.top + 27
        yield self._words(item.text, EDGE + 4, first, bold=True)
        yield self._words(item.aside, item.width - EDGE, first, end="right")
        yield self._words(item.below, EDGE + 4, second, colour=INK if item.on else SOFT)

    def _bar(self, item: Item, colour: Colour, *, dashed: bool) -> Iterator[Any]:
        """The verdict of a row: a bar at its left, in pieces where it is undecided."""
        width, space = (6.0 if item.on else 4.0), item.height - 4
        pieces = 4 if dashed else 1
        for k in range(pieces):
            part = space / pieces
            yield self._box(item.left, item.top + 2 + k * part, width, part * (0.6 if dashed else 1), colour)

    def _switch(self, item: Item) -> Iterator[Any]:
        y = item.top + item.height / 2
        yield self._box(item.left, y - 6.5, 13, 13, SOFT)
        yield self._box(item.left + 1.5, y - 5, 10, 10, WHITE)
        if item.on:
            yield self._box(item.left + 3.5, y - 3, 6, 6, INK)
        yield self._words(item.text, item.left + 20, y)

    def _button(self, item: Item) -> Iterator[Any]:
        yield self._box(item.left, item.top, item.width, item.height, INK if item.on else SOFT)
        inner = INK if item.on else WHITE
        yield self._box(item.left + 1, item.top + 1, item.width - 2, item.height - 2, inner)
        colour = WHITE if item.on else INK
        middle = item.left + (item.width - 7 * len(item.text)) / 2
        yield self._words(item.text, middle, item.top + item.height / 2, colour=colour)

    def _slider(self, item: Item) -> Iterator[Any]:
        y, run = item.top + item.height / 2, item.width - 2 * KNOB
        yield self._box(item.left + KNOB, y - 1.5, run, 3, RULE)
        if item.mark is not None:
            colour = INK if item.verdict is None else hue(item.verdict)
            yield self._box(item.left + KNOB + run * item.mark - 1.5, y - 9, 3, 18, colour)
        knob = item.left + KNOB + run * item.share
        yield self._box(knob - 5, y - 8, 10, 16, WHITE)
        yield self._box(knob - 4, y - 7, 8, 14, INK)
        if item.aside:
            yield self._words(item.aside, item.left + item.width + 10, y)
