"""The pictures of one finding: the spot among its surroundings, and a cut through it with the gap dimensioned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.findings import Finding
from packcheck.report.pictures.cutaway import cutaway
from packcheck.report.pictures.drawn import Painted, drawing
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.marks import compass, dimension, hue, ruler
from packcheck.report.pictures.png import png
from packcheck.report.pictures.svg import embedded, picture
from packcheck.report.pictures.view import View, facing, from_words
from packcheck.surfaces import OTHER, Model, Surface, shade

__all__ = ["Figure", "figure", "spot_height"]

WIDTH, HEIGHT = 640, 480  # px
BACKGROUND: Final = 0.82  # how much white shows through everything that is not of the pair
PER_GAP: Final = 4.5  # height of a view, in gaps
LEAST_SPOT, MOST_SPOT = 150.0, 900.0  # mm: height of a view
PER_PART: Final = 1.7  # height of a view, in sizes of the smaller part
LARGE: Final = 1.5  # of marks: these pictures are shown small


@dataclass(frozen=True, slots=True)
class Figure:
    """Two pictures as SVG, and from where they are seen, in words. `cut` is empty where there is nothing to cut.

    `cut_from` is from where the cut is seen, where that is not the same. `at_rest` says that something moves in the
    finding and the pictures show it where it rests.
    """

    spot: str
    cut: str
    seen_from: str
    cut_from: str = ""
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
    seen_from = from_words(eye.toward, model.axes)
    behind = [surface for surface in rest.surfaces if surface.name in finding.subjects] if model is not rest else []
    others = [surface for surface in model.surfaces if surface.name not in finding.subjects]
    cut = cutaway(finding, of_pair, eye, units)
    return Figure(
        _spot(finding, of_pair, [*others, *behind], spot, (units, seen_from), model.axes),
        cut.picture if cut else "",
        seen_from,
        from_words(cut.toward, model.axes) if cut and cut.turned else "",
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
    marks = (dimension(finding, view, units), compass(view, axes, LARGE), ruler(view, units))
    return picture(view.width, view.height, title, shown, *marks)
