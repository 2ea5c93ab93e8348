"""What stands on a picture beside the parts: the gap with its size, which way is up, how long a known length is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from packcheck.arrays import Points
from packcheck.findings import Finding, Verdict
from packcheck.report.pictures.svg import circle, hexed, line, words
from packcheck.report.pictures.view import NOTABLE, View, way
from packcheck.report.text.figures import MM_PER_INCH, length
from packcheck.surfaces import FAIL, INK, PLAIN, UNSURE, Colour

__all__ = ["OPEN", "compass", "dimension", "hue", "ruler", "scale_bar", "size_words"]

HUES: Final = {Verdict.FAIL: FAIL, Verdict.UNSURE: UNSURE, Verdict.NOT_CHECKED: UNSURE}
OPEN: Final = (Verdict.UNSURE, Verdict.NOT_CHECKED)
TICK: Final = 8.0  # px
ASIDE: Final = 0.35  # how far to one side a size must stand to be written away from its line
ARROW: Final = 34.0  # px
CORNER: Final = (92.0, 64.0)  # px from the lower left
STEPS_MM: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
STEPS_IN: Final = tuple(MM_PER_INCH * step for step in (0.0625, 0.125, 0.25, 0.5, 1, 2, 5, 10, 20, 50))
LONGEST: Final = 0.28  # of the width: the ruler's length


def hue(verdict: Verdict) -> Colour:
    """The colour of a verdict; always beside its word."""
    return HUES.get(verdict, PLAIN)


def dimension(finding: Finding, view: View, units: str) -> str:
    """The gap from witness point to witness point, square ticks at its ends, and its size as drawn."""
    if finding.points is None:
        return ""
    ends = view.project(finding.points)[:, :2]
    middle, along = ends.mean(axis=0), ends[1] - ends[0]
    reach = float(np.linalg.norm(along))
    across = np.array([-along[1], along[0]]) / reach if reach > 1e-6 else np.array([0.0, -1.0])
    dashes = ' stroke-dasharray="7 5"' if finding.verdict in OPEN else ""
    ticks = [np.array([end - across * TICK, end + across * TICK]) for end in ends]
    drawn = "".join(_haloed(part, dashes if k == 0 else "") for k, part in enumerate([ends, *ticks]))
    beside = across if across[1] <= 0 else -across
    return drawn + _size(finding, middle + beside * (TICK + 8), beside[0], units)


def _haloed(points: Points, dashes: str) -> str:
    return line(points, 'stroke="#fff" stroke-width="7"') + line(
        points, f'stroke="{hexed(INK)}" stroke-width="3"{dashes}'
    )


def _size(finding: Finding, place: Points, aside: float, units: str) -> str:
    anchor = "middle" if abs(aside) < ASIDE else "start" if aside > 0 else "end"
    looks = f'class="size" style="text-anchor:{anchor}"'
    return words(place[0], place[1], size_words(finding, units), looks)


def size_words(finding: Finding, units: str) -> str:
    """The gap as drawn, short enough to stand on a picture: "8.2 mm", "5.8 mm deep"."""
    if finding.value is None or finding.unit != "mm":
        return ""
    said = length(abs(finding.value), units)
    return f"{said} deep" if finding.value < 0 else said


def compass(view: View, axes: Sequence[str], size: float = 1.0) -> str:
    """Arrows for the car's directions that lie in the picture, each with its word; `size` in times the usual."""
    start = np.array([CORNER[0] * size, view.height - CORNER[1] * size])
    return "".join(_arrows(view, axes, start, size))


def _arrows(view: View, axes: Sequence[str], start: Points, size: float) -> Iterator[str]:
    for word in ("up", "fore", "left"):
        flat = (view.turn @ way(axes, word))[:2] * [1.0, -1.0]
        if float(np.linalg.norm(flat)) > NOTABLE:
            end = start + flat * ARROW * size
            tip = end + flat * 15 * size
            yield line([start, end], f'stroke="{hexed(INK)}" stroke-width="2"')
            yield circle(end, 3, f'fill="{hexed(INK)}"')
            yield words(tip[0], tip[1] + 5 * size, {"fore": "forward"}.get(word, word), 'class="axis"')


def ruler(view: View, units: str) -> str:
    """A bar of a round length in the lower right corner."""
    return scale_bar(view.width, view.height, view.scale, units)


def scale_bar(width: float, height: float, scale: float, units: str) -> str:
    """The same in any picture of `width` by `height` px, `scale` px to the mm."""
    steps = STEPS_IN if units == "in" else STEPS_MM
    size = max([step for step in steps if step * scale <= width * LONGEST] or [steps[0]])
    right, y = width - 24.0, height - 24.0
    left = right - size * scale
    bar = line([[left, y - 5], [left, y], [right, y], [right, y - 5]], f'stroke="{hexed(INK)}" stroke-width="2"')
    said = length(size, units, typed=True)
    return bar + words((left + right) / 2, y - 10, said, 'class="axis"')
