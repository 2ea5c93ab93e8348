"""Arrangements of one bay, each in a picture from the same place and in the same size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from packcheck.findings import Finding
from packcheck.report.pictures.drawn import drawing
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.marks import compass, ruler
from packcheck.report.pictures.overview import painted, striking, whole_view
from packcheck.report.pictures.png import png
from packcheck.report.pictures.svg import embedded, picture
from packcheck.surfaces import Colour, Model

__all__ = ["MOVED", "arrangement_pictures", "changed"]

WIDTH, HEIGHT = 900, 615  # px

MOVED: Final[Colour] = (84, 94, 101)
"""What stands elsewhere than in the first arrangement, and falls short nowhere."""

SAME: Final = 1e-6  # mm


def changed(first: Model, other: Model) -> tuple[str, ...]:
    """The parts of `other` that are not in `first`, or look or stand differently there."""
    there = {surface.name: surface for surface in first.surfaces}
    return tuple(
        surface.name
        for surface in other.surfaces
        if surface.name not in there or not _alike(surface.vertices, there[surface.name].vertices)
    )


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    return one.shape == other.shape and bool(np.abs(one - other).max(initial=0.0) <= SAME)


def arrangement_pictures(
    models: Sequence[Model], findings: Sequence[Sequence[Finding]], names: Sequence[str], units: str
) -> list[str]:
    """A picture of each of `models` as SVG, `findings` and `names` in the same order; empty for an empty bay.

    The view holds all of them. What falls short there is orange, what changed against the first dark.
    """
    everything = [surface for model in models for surface in model.surfaces]
    if not everything:
        return ["" for _ in models]
    view = whole_view(everything, Onlooker(models[0]), WIDTH, HEIGHT)
    pictures = []
    for model, found, name in zip(models, findings, names, strict=True):
        colours = dict.fromkeys(changed(models[0], model), (MOVED, None)) | dict(striking(found))
        shown = embedded(png(drawing(view, painted(model.surfaces, colours))), WIDTH, HEIGHT)
        marks = compass(view, model.axes), ruler(view, units)
        pictures.append(picture(WIDTH, HEIGHT, f"The bay in the layout {name}", shown, *marks))
    return pictures
