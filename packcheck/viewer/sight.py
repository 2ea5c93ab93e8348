"""What is seen of a desk: where parts stand, which gaps are drawn, what stands over the picture."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from packcheck.arrays import Point
from packcheck.findings import Finding, Verdict
from packcheck.frames import Pose
from packcheck.moving.stances import stance
from packcheck.report.pictures.finding import spot_height
from packcheck.report.text.headline import headline
from packcheck.report.text.measured import Measured
from packcheck.report.text.printable import printable
from packcheck.surfaces import Surface
from packcheck.viewer.desk import Desk
from packcheck.viewer.nudging import carried_along
from packcheck.viewer.playing import Way, way_of

__all__ = ["MOST_OUTLINED", "carried", "drawn", "extent", "extremes", "title"]

MOST_OUTLINED: Final = 6
"""Parts of one motion that are outlined where it ends; of more, those in findings first, then the largest."""


def pose(desk: Desk) -> Mapping[str, object]:
    """Where the motions stand in what is shown; empty at rest."""
    if desk.nudging:
        return {}
    if desk.player is not None:
        return desk.player.way.pose(desk.player.share)
    return {} if desk.finding is None else desk.finding.pose


def carried(desk: Desk) -> dict[str, Pose]:
    """Every part that is shown elsewhere than it stands at rest in the file: the pose that takes it there."""
    if desk.nudge is not None and desk.nudging:
        return carried_along(desk.bay.assembly, desk.nudge)
    return _moved(desk, pose(desk))


def _moved(desk: Desk, told: Mapping[str, object]) -> dict[str, Pose]:
    if not told or not set(told) <= set(desk.motions):
        return {}
    there = stance(desk.bay.assembly, told).moved
    return {name: Pose(turn, shift) for name, (turn, shift) in there.items()}


def drawn(desk: Desk) -> tuple[Finding, ...]:
    """The findings whose gaps are drawn: those that hold for the places in which everything is shown."""
    looked = () if desk.finding is None else (desk.finding,)
    if desk.nudging:
        moved = set(carried(desk))
        return (*desk.live, *(f for f in looked if not f.pose and not moved & set(f.subjects)))
    if desk.player is not None:
        worst = desk.player.way.finding
        return (worst,) if worst is not None and desk.player.at_worst else ()
    short = (f for f in desk.findings if f.verdict in (Verdict.FAIL, Verdict.UNSURE) and not f.pose)
    return looked or tuple(short)


def extremes(desk: Desk) -> Iterator[tuple[str, Pose]]:
    """Parts and the poses, from rest, in which they stand at the ends of what is played, or of what decides."""
    now = pose(desk)
    for motion in [desk.player.way.motion] if desk.player is not None else now:
        way = way_of(desk.bay.assembly, motion, desk.report.findings)
        for end in (way.pose(0.0), way.pose(1.0)):
            moved = _moved(desk, end)
            if end != now:
                yield from ((name, moved[name]) for name in _outlined(desk, way) if name in moved)


def _outlined(desk: Desk, way: Way) -> tuple[str, ...]:
    """Which parts of a motion are outlined."""
    motions = desk.bay.assembly.motions
    mine = [surface for surface in desk.model.surfaces if way.motion in motions.carrying(surface.name)]
    if desk.finding is not None:
        return tuple(surface.name for surface in mine if surface.name in desk.finding.subjects)
    told = {name for f in desk.report.findings if way.motion in f.pose for name in f.subjects}
    ordered = sorted(mine, key=lambda surface: (surface.name not in told, -_size(surface)))
    return tuple(surface.name for surface in ordered[:MOST_OUTLINED])


def _size(surface: Surface) -> float:
    return float(np.linalg.norm(np.ptp(surface.vertices, axis=0)))


def title(desk: Desk) -> str:
    """The finding in two or three lines, or the verdict of the whole."""
    finding = desk.finding
    if finding is None:
        return headline(desk.report)
    first = f"{desk.number(finding)} of {len(desk.report.findings)}  {finding.word}: {' - '.join(finding.subjects)}"
    told = [first, Measured(finding, desk.report_units).line() or finding.skipped, finding.when]
    return "\n".join(printable(line) for line in told if line)


def extent(desk: Desk) -> tuple[Point, float]:
    """Middle (3,) and half height, mm, of what the camera should hold: the spot, or the whole bay."""
    if desk.finding is not None and desk.finding.points is not None:
        of_pair = [surface for surface in desk.model.surfaces if surface.name in desk.finding.subjects]
        return desk.finding.points.mean(axis=0), spot_height(desk.finding, of_pair) / 2
    low, high = desk.corners
    return (low + high) / 2, float(np.linalg.norm(high - low)) * 0.4
