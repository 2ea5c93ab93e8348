r"""A map of places cut at one height, as a sheet to print: the picture of `slices` with words on it.

 tank: places for its middle, 205 mm up
 Seen from above: forward is up, left is left.
+------------------------------+
|  rail_l     (o)1             |   parts and places by their names, a bar of a known length
|        grey: fits            |
+------------------------------+
 [] fits  [] does not  [] undecided     what each colour says, in words
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.report.labels import placed_labels, width_of
from packcheck.report.pictures.marks import scale_bar
from packcheck.report.pictures.svg import embedded, hexed, line, picture, words
from packcheck.report.slices import Plan, near, outlines, slice_png
from packcheck.report.text.figures import length
from packcheck.surfaces import INK, MapSlice

__all__ = ["slice_svg"]

EDGE: Final = 20.0  # px
HEAD: Final = 64.0
FOOT: Final = 76.0
SEEN: Final = 24.0
"""px that a part must at least measure in the picture to be named."""

RING: Final = 9.0  # px, of the ring round a place

STYLE: Final = (
    "<style>text{font:13px sans-serif;fill:#20262b;paint-order:stroke;stroke:#fff;stroke-width:3px}"
    ".title{font:bold 17px sans-serif}.name{font-size:11px}.axis{font-size:12px;text-anchor:middle}</style>"
)


def slice_svg(drawn: MapSlice, part: str, units: str) -> str:
    """A map of places at one height with its words; `units` those of the scene."""
    plan = Plan(drawn)
    high, wide = plan.shape
    width, height = max(wide + 2 * EDGE, 460.0), high + HEAD + FOOT
    way = drawn.axes[2] if drawn.height >= 0 else {"up": "down", "down": "up"}[drawn.axes[2]]
    title = f"{part}: places for its middle, {length(abs(drawn.height), units)} {way}"
    inside = f'<g transform="translate({EDGE:g} {HEAD:g})">{embedded(slice_png(drawn), wide, high)}'
    return picture(
        round(width),
        round(height),
        f"{title}, seen from above, forward up",
        STYLE,
        f'<rect width="{width:g}" height="{height:g}" fill="#fff"/>',
        words(EDGE, 28, title, 'class="title"'),
        words(EDGE, 50, "Seen from above: forward is up, left is left."),
        inside,
        *_names(drawn, plan),
        scale_bar(wide, high, plan.scale, units),
        "</g>",
        *_legend(high + HEAD),
    )


def _names(drawn: MapSlice, plan: Plan) -> Iterator[str]:
    """The parts that are cut, named where their outlines are; the places proposed, by number."""
    marks = [(f"place {k}", plan.place(spot)) for k, spot in enumerate(drawn.spots, 1) if near(drawn, spot)]
    marks += _cut_parts(drawn, plan)
    inside = [(name, at) for name, at in marks if plan.holds(at)]
    if not inside:
        return
    points: Floats = np.array([at for _, at in inside])
    names = tuple(name for name, _ in inside)
    frame = np.array([0.0, 0.0, plan.shape[1], plan.shape[0]])
    for name, at, label in zip(
        names, points, placed_labels(points, names, np.full((len(points), 2), RING), frame), strict=True
    ):
        if label.lead is not None:
            yield line([at, label.lead], f'stroke="{hexed(INK)}" stroke-width="0.7"')
        yield words(label.x, label.y, name, 'class="name"')


def _cut_parts(drawn: MapSlice, plan: Plan) -> Iterator[tuple[str, Floats]]:
    """Each part that shows in the picture, with a point on its outline to name it at."""
    for surface in drawn.parts:
        found = outlines(surface, drawn.height)
        if not found:
            continue
        places = np.array([plan.place(point) for point in np.vstack(found)])
        shown = places[[plan.holds(at) for at in places]]
        if len(shown) and float(np.linalg.norm(np.ptp(shown, axis=0))) >= SEEN:
            middle = shown.mean(axis=0)
            yield surface.name, shown[int(np.argmin(np.linalg.norm(shown - middle, axis=1)))]


def _legend(top: float) -> Iterator[str]:
    at = EDGE
    for colour, said in zip(Plan.SHADES, ("does not fit", "fits", "undecided"), strict=True):
        looks = f'fill="{hexed(colour)}" stroke="{hexed(INK)}" stroke-width="0.7"'
        yield f'<rect x="{at:g}" y="{top + 16:g}" width="14" height="14" {looks}/>'
        yield words(at + 20, top + 28, said)
        at += 44 + width_of(said) * 1.2
    yield words(EDGE, top + 54, "Ring: a place proposed near this height. Cross: where it stands now.")
