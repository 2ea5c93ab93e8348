"""The pictures of one finding: the spot among its surroundings, and a cut through it with the gap dimensioned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Points
from packcheck.findings import Finding
from packcheck.report.pictures.drawn import Painted, drawing
from packcheck.report.pictures.eye import Eye, Onlooker
from packcheck.report.pictures.marks import OPEN, compass, dimension, hue, ruler
from packcheck.report.pictures.png import png
from packcheck.report.pictures.section import cut
from packcheck.report.pictures.svg import embedded, hexed, line, outline, picture
from packcheck.report.pictures.view import View, facing, from_words
from packcheck.surfaces import OTHER, Model, Surface, shade

__all__ = ["Figure", "figure", "spot_height"]

WIDTH, HEIGHT = 640, 480  # px
BACKGROUND: Final = 0.82  # how much white shows through everything that is not of the pair
PER_GAP: Final = 4.5  # height of a cut, in gaps
LEAST_CUT, MOST_CUT = 45.0, 700.0  # mm: height of a cut
LEAST_SPOT, MOST_SPOT = 150.0, 900.0  # mm: height of a view
PER_PART: Final = 1.7  # height of a view, in sizes of the smaller part
NEAREST: Final = 0.3  # px; points of an outline nearer than this to the last one are left out


@dataclass(frozen=True, slots=True)
class Figure:
    """Two pictures as SVG, and from where they are seen, in words. `cut` is empty where there is nothing to cut.

    `at_rest` says that something moves in the finding and the pictures show it where it rests.
    """

    spot: str
    cut: str
    seen_from: str
    at_rest: bool = False


def figure(finding: Finding, model: Model, onlooker: Onlooker, units: str) -> Figure | None:
    """The pictures of a finding, in the pose that decides it; None when it has no place or its parts no surface."""
    rest, model = model, model.at(finding.pose)
    if model is not rest:
        onlooker = Onlooker(model)
    of_pair = [surface for name in finding.subjects for surface in model.surfaces if surface.name == name]
    if finding.points is None or not of_pair:
        return None
    eye = onlooker.eye(finding)
    middle = finding.points.mean(axis=0)
    turn = facing(eye.toward, eye.upright, eye.upright)
    spot = View(middle, turn, HEIGHT / spot_height(finding, of_pair), WIDTH, HEIGHT)
    close = spot.zoomed(HEIGHT / _cut_height(finding), WIDTH, HEIGHT)
    seen_from = from_words(eye.toward, model.axes)
    behind = [surface for surface in rest.surfaces if surface.name in finding.subjects] if model is not rest else []
    others = [surface for surface in model.surfaces if surface.name not in finding.subjects]
    return Figure(
        _spot(finding, of_pair, [*others, *behind], spot, (units, seen_from), model.axes),
        _cut(finding, of_pair, eye, close, units),
        seen_from,
        at_rest=bool(finding.pose) and model is rest,
    )


def _gap(finding: Finding) -> float:
    assert finding.points is not None
    return float(np.linalg.norm(finding.points[0] - finding.points[1]))


def spot_height(finding: Finding, of_pair: list[Surface]) -> float:
    """How much of the bay a view of the pair shows from top to bottom, mm."""
    sizes = [float(np.linalg.norm(np.ptp(surface.vertices, axis=0))) for surface in of_pair]
    wanted = max(min(sizes) * PER_PART, _gap(finding) * PER_GAP)
    return float(np.clip(wanted, LEAST_SPOT, MOST_SPOT))


def _cut_height(finding: Finding) -> float:
    return float(np.clip(_gap(finding) * PER_GAP, LEAST_CUT, MOST_CUT))


def _spot(
    finding: Finding,
    of_pair: list[Surface],
    around: list[Surface],
    view: View,
    words: tuple[str, str],
    axes: tuple[str, str, str],
) -> str:
    """The pair among what stands around it, parts of it at rest included; `words` are the units and the side."""
    colour, (units, seen_from) = hue(finding.verdict), words
    others = [Painted(surface, shade(surface.kinds), clear=BACKGROUND) for surface in around]
    paints = [Painted(s, colour if k == 0 else OTHER, None if k == 0 else colour) for k, s in enumerate(of_pair)]
    shown = embedded(png(drawing(view, [others, paints])), view.width, view.height)
    title = f"{' and '.join(finding.subjects)} seen from {seen_from}"
    marks = (dimension(finding, view, units), compass(view, axes), ruler(view, units))
    return picture(view.width, view.height, title, shown, *marks)


def _cut(finding: Finding, of_pair: list[Surface], eye: Eye, view: View, units: str) -> str:
    drawn = [_outlined(surface, finding, first=k == 0, eye=eye, view=view) for k, surface in enumerate(of_pair)]
    if not all(drawn):
        return ""
    title = f"A cut through {' and '.join(finding.subjects)} at the spot, with the gap dimensioned"
    return picture(view.width, view.height, title, *drawn, dimension(finding, view, units), ruler(view, units))


def _outlined(surface: Surface, finding: Finding, *, first: bool, eye: Eye, view: View) -> str:
    loops, lines = cut(surface.vertices, surface.faces, view.middle, eye.toward)
    colour = hexed(hue(finding.verdict))
    dashes = ' stroke-dasharray="9 6"' if finding.verdict in OPEN else ""
    fill = f'fill="{colour}" fill-opacity=".8"' if first else f'fill="url(#stripes-{finding.verdict.value})"'
    looks = f'{fill} stroke="{colour}" stroke-width="2.5"{dashes}'
    areas = [flat for loop in loops if len(flat := _in_picture(loop, view)) > 2]
    rims = [
        line(flat, f'stroke="{colour}" stroke-width="2.5"')
        for rim in lines
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
