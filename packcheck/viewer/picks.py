"""Points picked on the bay, in words: where one is, how far two are apart, the frame that three make."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from packcheck.arrays import Matrix3, Point
from packcheck.datums import Datums
from packcheck.frames import turn_degrees
from packcheck.scene.model.scene import LengthUnit
from packcheck.scene.text.spelling import Mm, flow, settled

__all__ = ["MOST_PICKS", "frame_of", "frame_snippet", "pick_lines"]

MOST_PICKS = 3

LEAST_AREA = 1.0  # mm2 of the triangle that three picks make; flatter ones have no sure direction


def pick_lines(picks: Sequence[Point], datums: Datums, units: LengthUnit) -> list[str]:
    """What the picks so far tell, a line each: every place, then the distance of two, or the frame of three."""
    told = [f"{k}. {datums.place(point).text}" for k, point in enumerate(picks, 1)]
    if len(picks) == 2:
        apart = picks[1] - picks[0]
        told.append(f"apart {_length(float(np.linalg.norm(apart)), units)}: {_steps(apart, datums, units)}")
    if len(picks) == MOST_PICKS:
        told.append(frame_snippet(picks, units) or "these three lie in a line, which makes no frame")
    return told


def _length(mm: float, units: LengthUnit) -> str:
    return f"{mm / 25.4:.3f} in ({mm:.1f} mm)" if units == "in" else f"{mm:.1f} mm"


def _steps(apart: Point, datums: Datums, units: LengthUnit) -> str:
    steps = [f"{_length(length, units)} {word}" for length, word in datums.words.steps(apart) if length >= 0.05]
    return ", ".join(steps) or "the same point"


def frame_of(picks: Sequence[Point]) -> tuple[Point, Matrix3] | None:
    """Origin (3,) and axes (3, 3) by column of the frame that three points make; None when they lie in a line.

    The first is the origin, the second lies on x, the third on the side of y:

        third
          |        z = x cross (third - first): up when the three run to the left
        first ---- second
    """
    first, second, third = picks
    along, aside = second - first, third - first
    normal = np.cross(along, aside)
    if float(np.linalg.norm(normal)) < 2 * LEAST_AREA:
        return None
    x, z = along / np.linalg.norm(along), normal / np.linalg.norm(normal)
    return first, np.column_stack([x, np.cross(z, x), z])


def frame_snippet(picks: Sequence[Point], units: LengthUnit) -> str:
    """Three picks as a line for `frames:`, in the car frame and the scene's units; "" when they make no frame."""
    frame = frame_of(picks)
    if frame is None:
        return ""
    origin, axes = frame
    at = [Mm(round(float(x), 2)) for x in origin]
    turn = [round(angle, 3) + 0.0 for angle in turn_degrees(axes)]
    return f"picked: {flow(settled({'at': at, 'turn': turn}, units))}"
