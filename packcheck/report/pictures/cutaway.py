"""A cut through the spot of a finding, both parts outlined and the gap dimensioned.

It lies in the plane in which the spot is seen, where that meets both parts there. Where it would miss one, as at
the corner of a box, it is turned about the gap until it does not: the gap lies in it all the same, in true size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.findings import Finding
from packcheck.report.pictures.eye import Eye
from packcheck.report.pictures.marks import OPEN, dimension, hue, ruler
from packcheck.report.pictures.section import cut
from packcheck.report.pictures.svg import hexed, line, outline, picture
from packcheck.report.pictures.view import View, facing
from packcheck.surfaces import Surface

__all__ = ["Cutaway", "cutaway"]

WIDTH, HEIGHT = 640, 480  # px
PER_GAP: Final = 4.5  # height of a cut, in gaps
LEAST, MOST = 45.0, 700.0  # mm: height of a cut
TURNS: Final = (0.0, 45.0, -45.0, 90.0, 22.5, -22.5, 67.5, -67.5)  # degrees about the gap
NEAR: Final = 2.0  # mm, from the gap: a part whose outline comes no nearer is missed by a cut
NEAREST: Final = 0.3  # px; points of an outline nearer than this to the last one are left out

Outlines = tuple[list[Points], list[Points]]


@dataclass(frozen=True, slots=True, eq=False)
class Cutaway:
    """A `picture` as SVG, seen from `toward` (3,); `turned` when the spot itself is seen from elsewhere."""

    picture: str
    toward: Vector
    turned: bool


def cutaway(finding: Finding, of_pair: Sequence[Surface], eye: Eye, units: str) -> Cutaway | None:
    """The cut through a finding's spot; None where no plane through it cuts both parts of the pair."""
    assert finding.points is not None
    middle: Point = finding.points.mean(axis=0)
    tried = []
    for toward in _normals(finding, eye):
        cuts = [cut(surface.vertices, surface.faces, middle, toward) for surface in of_pair]
        if all(_reaches(one, finding) for one in cuts):
            return _shown(finding, cuts, eye, toward, units)
        if all(loops or rims for loops, rims in cuts):
            tried.append((toward, cuts))
    return _shown(finding, tried[0][1], eye, tried[0][0], units) if tried else None


def _normals(finding: Finding, eye: Eye) -> Iterator[Vector]:
    """From where a cut may be seen: as the spot, then from all round the gap."""
    yield eye.toward
    if finding.direction is not None:
        across = np.cross(finding.direction, eye.toward)
        for turn in np.radians(TURNS[1:]):
            yield np.cos(turn) * eye.toward + np.sin(turn) * across


def _reaches(found: Outlines, finding: Finding) -> bool:
    """Whether an outline comes near the gap."""
    assert finding.points is not None
    middle = finding.points.mean(axis=0)
    reach = float(np.linalg.norm(finding.points[0] - finding.points[1])) / 2 + NEAR
    closed = [np.vstack([loop, loop[:1]]) for loop in found[0]]
    return any(_distance(middle, points) <= reach for points in (*closed, *found[1]))


def _distance(point: Point, line: Points) -> float:
    """How far a point (3,) lies from a line through points (n, 3)."""
    starts, along = line[:-1], np.diff(line, axis=0)
    squares = np.maximum(np.einsum("ij,ij->i", along, along), 1e-12)
    shares = np.clip(np.einsum("ij,ij->i", point - starts, along) / squares, 0.0, 1.0)
    return float(np.linalg.norm(starts + shares[:, None] * along - point, axis=1).min(initial=np.inf))


def _shown(finding: Finding, cuts: Sequence[Outlines], eye: Eye, toward: Vector, units: str) -> Cutaway | None:
    assert finding.points is not None
    turn = facing(toward, eye.upright, np.cross(eye.toward, eye.upright))
    gap = float(np.linalg.norm(finding.points[0] - finding.points[1]))
    scale = HEIGHT / float(np.clip(gap * PER_GAP, LEAST, MOST))
    view = View(finding.points.mean(axis=0), turn, scale, WIDTH, HEIGHT)
    drawn = [_outlined(one, finding, view, first=k == 0) for k, one in enumerate(cuts)]
    if not all(drawn):
        return None
    title = f"A cut through {' and '.join(finding.subjects)} at the spot, with the gap dimensioned"
    shown = picture(WIDTH, HEIGHT, title, *drawn, dimension(finding, view, units), ruler(view, units))
    return Cutaway(shown, toward, toward is not eye.toward)


def _outlined(found: Outlines, finding: Finding, view: View, *, first: bool) -> str:
    colour = hexed(hue(finding.verdict))
    dashes = ' stroke-dasharray="9 6"' if finding.verdict in OPEN else ""
    fill = f'fill="{colour}" fill-opacity=".8"' if first else f'fill="url(#stripes-{finding.verdict.value})"'
    looks = f'{fill} stroke="{colour}" stroke-width="2.5"{dashes}'
    areas = [flat for loop in found[0] if len(flat := _in_picture(loop, view)) > 2]
    rims = [
        line(flat, f'stroke="{colour}" stroke-width="2.5"')
        for rim in found[1]
        if len(flat := _in_picture(rim, view)) > 1
    ]
    return (outline(areas, looks) if areas else "") + "".join(rims)


def _in_picture(points: Points, view: View) -> Points:
    """Points of an outline on the picture (k, 2) px, without those too near the last; none when all are outside."""
    flat = view.project(points)[:, :2]
    if (flat.max(axis=0) < 0).any() or (flat.min(axis=0) > [view.width, view.height]).any():
        return flat[:0]
    steps = np.linalg.norm(np.diff(flat, axis=0, prepend=flat[-1:]), axis=1)
    travelled = np.cumsum(steps) // NEAREST
    kept: Points = flat[np.concatenate([[True], np.diff(travelled) > 0])]
    return np.clip(kept, -4000, 4000)
