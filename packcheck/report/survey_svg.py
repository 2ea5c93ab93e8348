r"""A survey as a picture: points, readings between them, and ellipses that hold each point 95 times in 100.

     fore <-                       Two views, one under the other: from above, and from the left side. Forward
+---------------+                  is to the left in both. Ellipses are drawn larger than life by one factor for
|  plan         |  right up        the whole picture, which is printed; known points are squares.
+---------------+
|  side         |  up up
+---------------+
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.drawn import NetworkDrawing

__all__ = ["survey_svg"]

WIDTH: Final = 900.0
MARGIN: Final = 60.0
WITHIN: Final = 2.447746830680816
"""Standard ellipses to one that holds a point of the plane 95 times in 100: root of the chi-square quantile, 2."""

LARGEST: Final = 28.0
"""Pixels of the largest half axis drawn."""

LINE, WRONG, MARK, QUIET = "#8a8f98", "#d55e00", "#0072b2", "#5b616b"


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """One view: `across` and `down` (2, 3) turn car coordinates into the picture's right and down."""

    title: str
    axes: Floats
    top: float
    scale: float
    low: Floats

    def at(self, points: Floats) -> Floats:
        placed: Floats = (points @ self.axes.T - self.low) * self.scale + [MARGIN, self.top]
        return placed


def survey_svg(drawing: NetworkDrawing) -> str:
    """The picture as SVG text. Same drawing, same bytes."""
    ways = _ways(drawing.axes)
    flats = {
        "plan, from above": np.array([-ways["fore"], -ways["right"]]),
        "side, from the left": np.array([-ways["fore"], -ways["up"]]),
    }
    spans = {title: np.ptp(drawing.points @ axes.T, axis=0) for title, axes in flats.items()}
    scale = (WIDTH - 2 * MARGIN) / max(max(float(span[0]) for span in spans.values()), 1.0)
    views, top = [], MARGIN
    for title, axes in flats.items():
        views.append(_View(title, axes, top, scale, (drawing.points @ axes.T).min(axis=0)))
        top += float(spans[title][1]) * scale + 2 * MARGIN
    worst = float(np.sqrt(max(np.linalg.eigvalsh(c).max() for c in drawing.covariances))) * WITHIN
    larger = LARGEST / (worst * scale) if worst > 0 else 1.0
    body = [line for view in views for line in _drawn(drawing, view, larger)]
    said = f"Ellipses hold a point 95 times in 100, drawn {larger:.3g} times their size. Largest: {worst:.1f} mm."
    caption = f'<text x="{MARGIN}" y="{top - MARGIN / 2:.1f}" fill="{QUIET}">{said}</text>'
    height = top
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" font-family="sans-serif" font-size="11">'
    )
    paper = f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="white"/>'
    return "\n".join([head, paper, *body, caption, "</svg>"]) + "\n"


def _ways(axes: tuple[str, str, str]) -> dict[str, Floats]:
    """Unit vectors (3,) of the directions, whatever the axes of the file."""
    opposite = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
    ways: dict[str, Floats] = {}
    for axis, name in enumerate(axes):
        ways[name] = np.eye(3)[axis]
        ways[opposite[name]] = -np.eye(3)[axis]
    return ways


def _drawn(drawing: NetworkDrawing, view: _View, larger: float) -> Iterator[str]:
    placed = view.at(drawing.points)
    yield f'<text x="{MARGIN}" y="{view.top - 30:.1f}" font-weight="bold">{view.title}; forward is left</text>'
    for colour, width, links in ((LINE, 0.7, drawing.links), (WRONG, 2.0, drawing.wrong)):
        for a, b in links:
            (x1, y1), (x2, y2) = placed[a], placed[b]
            ends = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
            yield f'<line {ends} stroke="{colour}" stroke-width="{width}"/>'
    for k, name in enumerate(drawing.names):
        x, y = placed[k]
        yield _ellipse(placed[k], view.axes @ drawing.covariances[k] @ view.axes.T, view.scale * larger)
        if drawing.known[k]:
            yield f'<rect x="{x - 3:.1f}" y="{y - 3:.1f}" width="6" height="6" fill="{QUIET}"/>'
        else:
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2" fill="{MARK}"/>'
        yield f'<text x="{x + 5:.1f}" y="{y - 5:.1f}" fill="{QUIET}">{escape(name)}</text>'


def _ellipse(at: Floats, covariance: Floats, scale: float) -> str:
    size, axes = np.linalg.eigh(covariance)
    across, along = (WITHIN * np.sqrt(np.maximum(size, 0.0)) * scale).tolist()
    turn = float(np.degrees(np.arctan2(axes[1, 1], axes[0, 1])))
    form = f'cx="{at[0]:.1f}" cy="{at[1]:.1f}" rx="{along:.1f}" ry="{across:.1f}"'
    spin = f'transform="rotate({turn:.1f} {at[0]:.1f} {at[1]:.1f})"'
    return f'<ellipse {form} {spin} fill="{MARK}" fill-opacity="0.15" stroke="{MARK}" stroke-width="0.8"/>'
