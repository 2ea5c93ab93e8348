"""What a full turn sweeps: how large, in words, and as a surface to look at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import ceil, floor

from packcheck.arrays import Point, Vector, frozen, frozen_faces
from packcheck.assembly.assembly import Assembly
from packcheck.datums import inch_figure
from packcheck.solids.revolved import Reach, profile_of, reach_of, revolved
from packcheck.surfaces import Surface

__all__ = ["spun_surfaces", "spun_words"]

NO_HOLE = 0.5
"""mm. A hole of no more radius than this is not worth a word."""


def spun_words(assembly: Assembly, motion: str) -> str:
    """What everything sweeps that a full turn carries: "a disc of diameter 412.6 mm, 38 mm thick"."""
    found = [_reach(assembly, motion, part) for part in _carried(assembly, motion)]
    if not found:
        return ""
    units = assembly.scene.units
    error = max(one.error for one in found)
    widest, hole = max(one.farthest for one in found) + error, min(one.hole for one in found) - error
    thick = max(one.high for one in found) - min(one.low for one in found) + 2 * error
    bore = f" with a hole of {_told(2 * hole, units, floor)}" if hole > NO_HOLE else ""
    form = "ring" if bore else "disc"
    across = _told(2 * widest, units, ceil)
    return f"a {form} of diameter {across}{bore}, {_told(thick, units, ceil)} thick"


def spun_surfaces(assembly: Assembly, motion: str) -> Iterator[tuple[Surface, float]]:
    """For each part a full turn carries: all it sweeps, and how far outside of that the surface may lie, mm.

    It lies nowhere inside, and is filled down to the hole round the axis that stays free.
    """
    for part in _carried(assembly, motion):
        placed = assembly.parts[part]
        point, axis = _line(assembly, motion, part)
        profile = profile_of(placed.solids, placed.pose, point, axis)
        vertices, faces = revolved(profile, point, axis)
        kinds = assembly.scene.parts[part].kinds
        yield Surface(f"{part} swept", kinds, frozen(vertices), frozen_faces(faces)), profile.deviation


def _carried(assembly: Assembly, motion: str) -> list[str]:
    return [part for part in assembly.parts if motion in assembly.motions.carrying(part)]


def _reach(assembly: Assembly, motion: str, part: str) -> Reach:
    placed = assembly.parts[part]
    return reach_of(placed.solids, placed.pose, *_line(assembly, motion, part))


def _line(assembly: Assembly, motion: str, part: str) -> tuple[Point, Vector]:
    """A point (3,) of the line and its direction (3,), where everything is at rest."""
    (joint,) = assembly.motions.chain(part, (motion,), assembly.motions.drives[motion], {})
    assert joint.point is not None
    return joint.point, joint.axis


def _told(length: float, units: str, way: Callable[[float], int]) -> str:
    """To a tenth of a mm, or a sixteenth of an inch, up or down."""
    if units == "in":
        return f"{inch_figure(length, way)} in"
    return f"{way(round(length * 10, 6)) / 10:g} mm"
