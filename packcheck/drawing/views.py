"""The car seen from above, from the left and from behind: what stands where on the paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.datums import AxisWords
from packcheck.solids.silhouettes import silhouette

__all__ = ["VIEWS", "Outline", "View", "datum_marks", "outlines"]


@dataclass(frozen=True, slots=True)
class View:
    """Looking at the car: what runs to the right of the paper, up it, and towards the reader."""

    name: str
    across: str
    up: str
    near: str


VIEWS: Final = (
    View("from above", "aft", "right", "up"),
    View("from the left", "aft", "up", "left"),
    View("from behind", "right", "up", "aft"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """One part in one view: closed polygons (n, 2), mm on the paper, and how near to the reader it reaches, mm."""

    part: str
    kinds: tuple[str, ...]
    polygons: tuple[Points, ...]
    near: float


def outlines(assembly: Assembly, view: View) -> list[Outline]:
    """Every part in a view, farthest first, so that what is nearer is drawn over it."""
    paper, towards = _paper(assembly.datums.words, view), assembly.datums.words.way(view.near)
    drawn = []
    for (name, placed), box in zip(assembly.parts.items(), assembly.boxes, strict=True):
        shift = paper @ placed.pose.translation
        shapes = (shape for solid in placed.solids for shape in silhouette(solid, paper @ placed.pose.rotation))
        polygons = tuple(frozen(shape + shift) for shape in shapes)
        near = float(np.where(towards > 0, box[1], -box[0])[towards != 0].sum())
        drawn.append(Outline(name, assembly.scene.parts[name].kinds, polygons, near))
    return sorted(drawn, key=lambda outline: outline.near)


def datum_marks(assembly: Assembly, view: View) -> Iterator[tuple[str, Points]]:
    """The car's zero and every frame in a view: its name and its place (2,), mm on the paper."""
    paper = _paper(assembly.datums.words, view)
    yield "car", frozen(np.zeros(2))
    for name, pose in assembly.datums.frames.items():
        yield name, frozen(paper @ pose.translation)


def _paper(words: AxisWords, view: View) -> Floats:
    """The unit vectors of the paper (2, 3), car frame."""
    return np.array([words.way(view.across), words.way(view.up)])
