"""What the bay looks like: the surfaces of its parts as they stand, and findings as rods to be seen beside them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np

from packcheck.arrays import Matrix3, Points, frozen, frozen_faces
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding, Verdict
from packcheck.scene.model.scene import Axes
from packcheck.solids.exports import FORMATS, exported
from packcheck.solids.seen import outside, rod
from packcheck.surfaces import FAIL, PLAIN, UNSURE, Colour, Surface, shade

__all__ = ["FORMATS", "exported_bay", "surfaces", "up_from_car"]

WITNESS_RADIUS: Final = 1.0
"""mm. Of the rod that stands for a gap: thick enough to find, thin enough to fit in."""

SHORTEST: Final = 0.01
"""mm. A gap shorter than this is drawn as long, so that touching parts have a rod too."""

COLOURS: Final[dict[Verdict, Colour]] = {
    Verdict.FAIL: FAIL,
    Verdict.UNSURE: UNSURE,
    Verdict.NOT_CHECKED: UNSURE,
    Verdict.CLOSE: PLAIN,
    Verdict.PASS: PLAIN,
}

_LEFT_UP_FORE: Final = {
    "left": (1, 0, 0),
    "right": (-1, 0, 0),
    "up": (0, 1, 0),
    "down": (0, -1, 0),
    "fore": (0, 0, 1),
    "aft": (0, 0, -1),
}


def surfaces(assembly: Assembly) -> tuple[Surface, ...]:
    """Every part as it stands in the car, scene order."""
    return tuple(_surface(assembly, name) for name in assembly.parts)


def _surface(assembly: Assembly, name: str) -> Surface:
    placed = assembly.parts[name]
    pieces = [outside(solid) for solid in placed.solids]
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in pieces)])
    faces = [own + start for (_, own), start in zip(pieces, starts, strict=False)]
    vertices = placed.pose.apply(np.vstack([own for own, _ in pieces]))
    return Surface(name, assembly.scene.parts[name].kinds, frozen(vertices), frozen_faces(np.vstack(faces)))


def up_from_car(axes: Axes) -> Matrix3:
    """The turn (3, 3) from the car's axes to x left, y up, z forward, as 3D formats and cameras want them."""
    return np.array([_LEFT_UP_FORE[axis] for axis in (axes.x, axes.y, axes.z)], dtype=np.float64).T


def exported_bay(assembly: Assembly, suffix: str, findings: Iterable[Finding] = ()) -> bytes:
    """The bay as a geometry file, each of `findings` that has witness points as a rod between them."""
    shown = [(surface, shade(surface.kinds)) for surface in surfaces(assembly)]
    taken = set(assembly.parts)
    shown += [(rod_, COLOURS[finding.verdict]) for finding, rod_ in _rods(findings, taken)]
    return exported(shown, suffix, up_from_car(assembly.scene.axes))


def _rods(findings: Iterable[Finding], taken: set[str]) -> Iterator[tuple[Finding, Surface]]:
    for finding in findings:
        if finding.points is not None:
            vertices, faces = rod(_long_enough(finding.points), WITNESS_RADIUS)
            name = _free_name(f"{finding.word}: {' - '.join(finding.subjects)}", taken)
            yield finding, Surface(name, (), frozen(vertices), frozen_faces(faces))


def _free_name(name: str, taken: set[str]) -> str:
    """`name`, numbered where something is called that already."""
    free, number = name, 2
    while free in taken:
        free, number = f"{name} ({number})", number + 1
    taken.add(free)
    return free


def _long_enough(points: Points) -> Points:
    start, end = points
    if float(np.linalg.norm(end - start)) >= SHORTEST:
        return points
    return np.array([start, start + np.array([0.0, 0.0, SHORTEST])])
