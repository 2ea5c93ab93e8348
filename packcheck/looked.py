"""What a geometry file holds, as plain facts for a report."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FileLook", "LookedBody"]


@dataclass(frozen=True, slots=True)
class LookedBody:
    """One body of a geometry file: `extents` (3,) mm full size, `closed` when it bounds a volume."""

    number: int
    name: str
    triangles: int
    extents: tuple[float, float, float]
    closed: bool


@dataclass(frozen=True, slots=True)
class FileLook:
    """What a geometry file holds. `low` and `high` are corners, mm, in the file's own axes, read in `unit`.

    `declared` is the unit the file states ("" for none) and `sure` tells that its format is trusted in that;
    `likely` are the units in which it would be of a usual size. `would` says what reading it mends, `left` what
    still is not right; `snippet` is a part to paste into a scene.
    """

    file: str
    format: str
    triangles: int
    unit: str
    declared: str
    sure: bool
    likely: tuple[str, ...]
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    closed: bool
    error: float
    bodies: tuple[LookedBody, ...]
    would: tuple[str, ...]
    left: tuple[str, ...]
    snippet: str
