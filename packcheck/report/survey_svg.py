r"""A survey as a picture: points, readings between them, and ellipses that hold each point 95 times in 100.

     fore <-                       Two views, one under the other: from above, and from the left side. Forward
+---------------+                  is to the left in both. Ellipses are drawn larger than life by one factor for
|  plan         |  right up        the whole picture, which is printed; known points are squares. A point that the
+---------------+                  readings do not fix has no ellipse worth drawing, and is a ring of dashes.
|  side         |  up up
+---------------+
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats
from packcheck.drawn import NetworkDrawing
from packcheck.report.labels import placed_labels
from packcheck.report.text.figures import Toward, length

__all__ = ["survey_svg"]

WIDTH: Final = 900.0
TALLEST: Final = 1100.0
"""Pixels of the height of one view, however narrow what it shows."""

MARGIN: Final = 60.0
FOOT: Final = 40.0
WITHIN: Final = 2.447746830680816
"""Standard ellipses to one that holds a point of the plane 95 times in 100: root of the chi-square quantile, 2."""

LARGEST: Final = 28.0
"""Pixels of the largest half axis drawn."""

RING: Final = 9.0
"""Pixels of the radius of the ring round a point that is not fixed."""

OPEN: Final = 300.0
"""mm. A point known no better than this, one standard uncertainty, is not fixed by its readings."""

LINE, WRONG, MARK, QUIET = "#8a8f98", "#d55e00", "#0072b2", "#3f454e"
STEPS: Final = {"mm": (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0), "in": (25.4, 127.0, 254.0, 508.0, 1270.0)}
"""mm that the scale bar may stand for; the longest below a quarter of the picture is taken."""


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
    views, height = _views(drawing)
    scale = views[0].scale
    spreads = np.sqrt(np.maximum(np.linalg.eigvalsh(drawing.covariances)[:, 2], 0.0))
    fixed = spreads < OPEN
    worst = float(spreads[fixed].max(initial=0.0)) * WITHIN
    larger = LARGEST / (worst * scale) if worst > 0 else 1.0
    body = [line for view in views for line in _drawn(drawing, view, larger, fixed)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" font-family="sans-serif" font-size="11">'
    )
    paper = f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="white"/>'
    foot = _foot(drawing, height, scale, worst, larger, bool(fixed.all()))
    return "\n".join([head, paper, *body, *foot, "</svg>"]) + "\n"


def _views(drawing: NetworkDrawing) -> tuple[list[_View], float]:
    """Both views at one scale, and the height of the whole picture."""
    ways = _ways(drawing.axes)
    flats = {
        "plan, from above": np.array([-ways["fore"], -ways["right"]]),
        "side, from the left": np.array([-ways["fore"], -ways["up"]]),
    }
    spans = [np.ptp(drawing.points @ axes.T, axis=0) for axes in flats.values()]
    wide, tall = (max(float(span[k]) for span in spans) for k in (0, 1))
    scale = min((WIDTH - 2 * MARGIN) / max(wide, 1.0), TALLEST / max(tall, 1.0))
    views, top = [], MARGIN
    for (title, axes), span in zip(flats.items(), spans, strict=True):
        views.append(_View(title, axes, top, scale, (drawing.points @ axes.T).min(axis=0)))
        top += float(span[1]) * scale + 2 * MARGIN
    return views, top + FOOT


def _ways(axes: tuple[str, str, str]) -> dict[str, Floats]:
    """Unit vectors (3,) of the directions, whatever the axes of the file."""
    opposite = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
    ways: dict[str, Floats] = {}
    for axis, name in enumerate(axes):
        ways[name] = np.eye(3)[axis]
        ways[opposite[name]] = -np.eye(3)[axis]
    return ways


def _drawn(drawing: NetworkDrawing, view: _View, larger: float, fixed: npt.NDArray[np.bool_]) -> Iterator[str]:
    placed = view.at(drawing.points)
    yield f'<text x="{MARGIN}" y="{view.top - 34:.1f}" font-weight="bold">{view.title}; forward is left</text>'
    for colour, width, links in ((LINE, 0.6, drawing.links), (WRONG, 2.0, drawing.wrong)):
        for a, b in links:
            yield _line(placed[a], placed[b], f'stroke="{colour}" stroke-width="{width}"')
    flat = view.axes @ drawing.covariances @ view.axes.T
    for k, at in enumerate(placed):
        yield _ellipse(at, flat[k], view.scale * larger) if fixed[k] else _ring(at)
    for k, at in enumerate(placed):
        yield _mark(at, known=drawing.known[k])
    half = WITHIN * np.sqrt(np.maximum(flat[:, [0, 1], [0, 1]], 0.0)) * view.scale * larger
    yield from _names(drawing.names, placed, np.where(fixed[:, None], half, RING))


def _names(names: tuple[str, ...], placed: Floats, half: Floats) -> Iterator[str]:
    """Every name beside its point, or led to it; `half` (n, 2) are the half sizes of what is round the points."""
    low, high = placed.min(axis=0, initial=np.inf), placed.max(axis=0, initial=-np.inf)
    within = np.array([4, low[1] - MARGIN / 2, WIDTH - 4, high[1] + MARGIN])
    for name, at, label in zip(names, placed, placed_labels(placed, names, half, within), strict=True):
        if label.lead is not None:
            yield _line(at, label.lead, f'stroke="{MARK}" stroke-width="0.5"')
        halo = 'stroke="white" stroke-width="3" stroke-opacity="0.8" paint-order="stroke"'
        yield f'<text x="{label.x:.1f}" y="{label.y:.1f}" fill="{QUIET}" {halo}>{escape(name)}</text>'


def _line(start: Floats, end: Floats | tuple[float, float], look: str) -> str:
    (x1, y1), (x2, y2) = start, end
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {look}/>'


def _mark(at: Floats, *, known: bool) -> str:
    x, y = at
    if known:
        return f'<rect x="{x - 3:.1f}" y="{y - 3:.1f}" width="6" height="6" fill="{QUIET}"/>'
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2" fill="{MARK}"/>'


def _ellipse(at: Floats, covariance: Floats, scale: float) -> str:
    size, axes = np.linalg.eigh(covariance)
    across, along = (WITHIN * np.sqrt(np.maximum(size, 0.0)) * scale).tolist()
    turn = float(np.degrees(np.arctan2(axes[1, 1], axes[0, 1])))
    form = f'cx="{at[0]:.1f}" cy="{at[1]:.1f}" rx="{along:.1f}" ry="{across:.1f}"'
    spin = f'transform="rotate({turn:.1f} {at[0]:.1f} {at[1]:.1f})"'
    return f'<ellipse {form} {spin} fill="{MARK}" fill-opacity="0.15" stroke="{MARK}" stroke-width="0.8"/>'


def _ring(at: Floats) -> str:
    form = f'cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{RING:.1f}"'
    return f'<circle {form} fill="none" stroke="{WRONG}" stroke-dasharray="3 2"/>'


def _foot(
    drawing: NetworkDrawing, height: float, scale: float, worst: float, larger: float, whole: bool
) -> Iterator[str]:
    """The scale, what the marks mean, and how large the ellipses are."""
    bar = max((step for step in _steps(drawing.units) if step * scale < WIDTH / 4), default=1.0)
    across, low = bar * scale, height - FOOT - 14
    yield f'<path d="M{MARGIN} {low - 5:.1f}v5h{across:.1f}v-5" fill="none" stroke="{QUIET}"/>'
    yield _said(MARGIN + across + 6, low, length(bar, drawing.units, typed=True))
    says = ["Squares: known points, and marks on parts. Dots: points found. Lines: readings"]
    says += ["thick: under suspicion"] if drawing.wrong else []
    says += [] if whole else ["rings of dashes: not fixed by the readings"]
    yield _said(MARGIN, low + 22, "; ".join(says) + ".")
    if worst > 0:
        largest = length(worst, drawing.units, Toward.UP)
        size = f"Ellipses hold a point 95 times in 100, drawn {larger:.3g} times their size. Largest: {largest}."
        yield _said(MARGIN, low + 38, size)


def _steps(units: str) -> tuple[float, ...]:
    return STEPS["in" if units == "in" else "mm"]


def _said(x: float, y: float, text: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" fill="{QUIET}">{text}</text>'
