"""What a picture of a survey is drawn from: plain arrays, which studies make and reports draw."""

from __future__ import annotations

from dataclasses import dataclass

from packcheck.arrays import Floats, Points

__all__ = ["NetworkDrawing"]


@dataclass(frozen=True, slots=True, eq=False)
class NetworkDrawing:
    """Points (n, 3) mm with covariances (n, 3, 3) mm^2, which are known, and the readings between them by number.

    `wrong` are the readings under suspicion; `axes` what positive x, y and z point to; `units` those of the scene.
    """

    names: tuple[str, ...]
    points: Points
    covariances: Floats
    known: tuple[bool, ...]
    links: tuple[tuple[int, int], ...]
    wrong: tuple[tuple[int, int], ...]
    axes: tuple[str, str, str]
    units: str = "mm"
