"""The views of a car on one sheet, as SVG: outlines, names, a grid and a scale, so that a wrong sign is seen.

          from above          Both views on the left share the way aft, to the right; both at the bottom share
front ->  -----------         the height. In colour by kind, the nearer part over the farther one. Parts are
          from the left       named where there are few, numbered where there are many, with a list below.
          -----------  from behind
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.report.text.printable import printable

__all__ = ["DrawnPart", "DrawnView", "sheet_svg"]

WIDTH: Final = 1400.0  # px, whole sheet
MARGIN, GAP, HEAD, ROW = 50.0, 60.0, 56.0, 18.0  # px
EDGE: Final = 0.02
"""Of the longer side of a view: white left round what is drawn."""

FEW_NAMES: Final = 14
"""Parts that are still named in the drawing itself."""

LETTER: Final = 6.2
"""px a letter takes at the size labels are written in."""

SHADES: Final = {
    "exhaust": "#d9a58a",
    "hot": "#d9a58a",
    "fuel": "#e8c15a",
    "brake": "#b99ad0",
    "clutch": "#b99ad0",
    "coolant": "#8ebfe0",
    "oil": "#a89a6a",
    "air": "#cfe3ea",
    "electrical": "#9fc9a8",
    "battery": "#9fc9a8",
    "loom": "#9fc9a8",
    "rotating": "#e3a3b4",
    "engine": "#c6c1b7",
    "structure": "#9aa3aa",
    "body": "#dde2e6",
    "hand": "#f4e3d0",
}
OTHER: Final = "#d6d3cd"
STEPS: Final = {"mm": (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0), "in": (25.4, 127.0, 254.0, 508.0, 1270.0)}


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPart:
    """One part in one view: closed polygons (n, 2), mm; to the right and up."""

    name: str
    kinds: tuple[str, ...]
    polygons: tuple[Points, ...]


@dataclass(frozen=True, slots=True, eq=False)
class DrawnView:
    """A view: parts farthest first, marked points (2,) mm by name, and what its four sides are called."""

    name: str
    parts: tuple[DrawnPart, ...]
    marks: tuple[tuple[str, Points], ...]
    sides: tuple[str, str, str, str]  # left, right, bottom, top

    def box(self) -> Floats:
        """Least and greatest corner (2, 2), mm, of all that is drawn."""
        drawn = [polygon for part in self.parts for polygon in part.polygons]
        points = np.vstack([*drawn, *(place.reshape(1, 2) for _, place in self.marks)])
        low, high = points.min(axis=0), points.max(axis=0)
        edge = EDGE * float((high - low).max())
        return np.array([low - edge, high + edge])


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a view stands on the sheet: its upper left corner, px, what it shows, mm, and px per mm."""

    left: float
    top: float
    box: Floats
    scale: float

    def put(self, points: Points) -> Points:
        offset = (points - np.array([self.box[0, 0], self.box[1, 1]])) * np.array([self.scale, -self.scale])
        placed: Points = offset + np.array([self.left, self.top])
        return placed

    @property
    def size(self) -> tuple[float, float]:
        across, up = (self.box[1] - self.box[0]) * self.scale
        return float(across), float(up)


def sheet_svg(title: str, views: Sequence[DrawnView], units: str) -> str:
    """The sheet. `views` are three: from above, from the left, from behind, laid out as on a drawing.

    Same views, same bytes.
    """
    above, left, behind = views
    frames = _laid_out(above, left, behind)
    bottom = max(frame.top + frame.size[1] for frame in frames) + HEAD
    names = sorted(part.name for part in above.parts)
    numbered = len(names) > FEW_NAMES
    labels = {name: str(number) if numbered else name for number, name in enumerate(names, start=1)}
    drawn = [line for frame, view in zip(frames, views, strict=True) for line in _view(frame, view, labels, units)]
    listed = list(_names(names, bottom + ROW)) if numbered else []
    height = bottom + (ROW * (-(-len(names) // _columns(names)) + 2) if numbered else 0)
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" font-family="sans-serif" font-size="11" fill="#20262b">',
        f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="#ffffff"/>',
        _text(MARGIN, 26, title, size=16),
    ]
    return "\n".join([*head, *drawn, *listed, "</svg>", ""])


def _laid_out(above: DrawnView, left: DrawnView, behind: DrawnView) -> list[_Frame]:
    """The three views to one scale, edges shared where they show the same direction."""
    top, side, rear = (view.box() for view in (above, left, behind))
    along = np.array([min(top[0, 0], side[0, 0]), max(top[1, 0], side[1, 0])])
    high = np.array([min(side[0, 1], rear[0, 1]), max(side[1, 1], rear[1, 1])])
    length, breadth = max(float(np.ptp(along)), 1.0), max(float(np.ptp(rear[:, 0])), 1.0)
    scale = (WIDTH - 2 * MARGIN - GAP) / (length + breadth)
    top[:, 0] = side[:, 0] = along
    side[:, 1] = rear[:, 1] = high
    first = _Frame(MARGIN, HEAD + ROW, top, scale)
    below = first.top + first.size[1] + GAP
    return [first, _Frame(MARGIN, below, side, scale), _Frame(MARGIN + length * scale + GAP, below, rear, scale)]


def _view(frame: _Frame, view: DrawnView, labels: dict[str, str], units: str) -> Iterator[str]:
    step = _step(frame, units)
    yield from _grid(frame, step)
    for part in view.parts:
        yield _outline(frame, part)
    yield from _marks(frame, view)
    yield from _labels(frame, view, labels)
    yield from _sides(frame, view, step, units)


def _step(frame: _Frame, units: str) -> float:
    """Lines of the grid no nearer than 40 px, mm."""
    steps = STEPS["in" if units == "in" else "mm"]
    return next((step for step in steps if step * frame.scale >= 40), steps[-1])


def _grid(frame: _Frame, step: float) -> Iterator[str]:
    """A line every `step`, counted from the car's zero, whose own lines are darker."""
    for axis in (0, 1):
        low, high = frame.box[:, axis]
        for k in range(int(np.ceil(low / step)), int(np.floor(high / step)) + 1):
            ends = frame.box.copy()
            ends[:, axis] = k * step
            (x1, y1), (x2, y2) = frame.put(ends)
            shade = "#8d979e" if k == 0 else "#e3e7ea"
            yield f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="{shade}" stroke-width="1"/>'


def _outline(frame: _Frame, part: DrawnPart) -> str:
    """The shadow of a part: its edge first, then its face over the inner edges."""
    loops = (" ".join(f"{x:.1f},{y:.1f}" for x, y in frame.put(polygon)) for polygon in part.polygons)
    path = "".join(f"M{loop}Z" for loop in loops)
    shade = next((SHADES[kind] for kind in part.kinds if kind in SHADES), OTHER)
    name, opacity = escape(printable(part.name)), 0.4 if "body" in part.kinds else 0.8
    return (
        f'<path d="{path}" fill="{shade}" stroke="#20262b" stroke-width="1.6" stroke-linejoin="round" '
        f'paint-order="stroke" opacity="{opacity}"><title>{name}</title></path>'
    )


def _marks(frame: _Frame, view: DrawnView) -> Iterator[str]:
    """A cross and a name at every marked point; those that fall together share one."""
    together: dict[tuple[int, int], list[str]] = {}
    for name, place in view.marks:
        ((x, y),) = frame.put(place.reshape(1, 2))
        together.setdefault((round(float(x)), round(float(y))), []).append(name)
    for (x, y), names in together.items():
        yield f'<path d="M{x - 6} {y}h12M{x} {y - 6}v12" stroke="#0072b2" stroke-width="1.5"/>'
        yield _text(x + 5, y - 5, ", ".join(names), size=9, shade="#0072b2", halo=True)


def _labels(frame: _Frame, view: DrawnView, labels: dict[str, str]) -> Iterator[str]:
    """Every part's label at its middle, or beside it where another label stands already."""
    taken: list[tuple[float, float, float]] = []
    for part in reversed(view.parts):
        middle = _middle([frame.put(polygon) for polygon in part.polygons])
        label = labels[part.name]
        half = max(len(label), 2) * LETTER / 2
        x, y = _free(float(middle[0]), float(middle[1]), half, taken)
        taken.append((x, y, half))
        if abs(x - middle[0]) + abs(y - middle[1]) > 14:
            line = f"M{middle[0]:.1f} {middle[1]:.1f}L{x:.1f} {y:.1f}"
            yield f'<path d="{line}" stroke="#20262b" stroke-width="0.5"/>'
        yield _text(x, y + 4, label, anchor="middle", halo=True)


def _middle(polygons: Sequence[Points]) -> Points:
    """The middle (2,) of the polygon that lies nearest to the middle of them all."""
    points = np.vstack(polygons)
    whole = (points.min(axis=0) + points.max(axis=0)) / 2
    middles = [(polygon.min(axis=0) + polygon.max(axis=0)) / 2 for polygon in polygons]
    return min(middles, key=lambda middle: float(np.hypot(*(middle - whole))))


def _free(x: float, y: float, half: float, taken: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    """The place nearest to a point where a label of that half width covers no other."""
    for ring in range(12):
        turns = np.arange(max(1, 6 * ring)) * (2 * np.pi / max(1, 6 * ring))
        for across, up in np.column_stack([np.cos(turns), np.sin(turns)]) * 9 * ring:
            if all(abs(x + across - a) > half + b or abs(y + up - c) > 12 for a, c, b in taken):
                return x + float(across), y + float(up)
    return x, y


def _sides(frame: _Frame, view: DrawnView, step: float, units: str) -> Iterator[str]:
    """What the view shows, where its sides look, and the scale."""
    width, height = frame.size
    left, right, bottom, top = view.sides
    middle, below = frame.left + width / 2, frame.top + height
    yield f'<rect x="{frame.left:.1f}" y="{frame.top:.1f}" width="{width:.1f}" height="{height:.1f}" ' + (
        'fill="none" stroke="#b9c3ca"/>'
    )
    yield _text(frame.left, frame.top - 8, view.name, size=13)
    yield _text(middle, frame.top - 6, top, anchor="middle")
    yield _text(middle, below + 14, bottom, anchor="middle")
    for x, word, way in ((frame.left - 8, left, -90), (frame.left + width + 14, right, -90)):
        y = frame.top + height / 2
        turned = f' transform="rotate({way} {x:.1f} {y:.1f})"'
        yield _text(x, y, word, anchor="middle", more=turned)
    bar = step * frame.scale
    yield f'<path d="M{frame.left:.1f} {below + 18:.1f}v6h{bar:.1f}v-6" fill="none" stroke="#20262b"/>'
    said = f"{step / 25.4:g} in" if units == "in" else f"{step:g} mm"
    yield _text(frame.left + bar + 6, below + 25, said)


def _columns(names: Sequence[str]) -> int:
    widest = max(map(len, names)) + 5
    return max(1, int((WIDTH - 2 * MARGIN) / (widest * LETTER)))


def _names(names: Sequence[str], top: float) -> Iterator[str]:
    """The list of numbers and names, in columns."""
    columns = _columns(names)
    rows = -(-len(names) // columns)
    for at, name in enumerate(names):
        x = MARGIN + (at // rows) * (WIDTH - 2 * MARGIN) / columns
        yield _text(x, top + ROW * (at % rows), f"{at + 1}  {name}")


def _text(
    x: float,
    y: float,
    text: str,
    *,
    size: float = 11,
    anchor: str = "start",
    shade: str = "",
    halo: bool = False,
    more: str = "",
) -> str:
    fill = f' fill="{shade}"' if shade else ""
    edge = ' stroke="#ffffff" stroke-width="3" paint-order="stroke"' if halo else ""
    place = f'x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"'
    return f"<text {place}{fill}{edge}{more}>{escape(printable(text))}</text>"
