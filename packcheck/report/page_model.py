"""The bay as data for the page's script: packed meshes, and for each finding where to look from.

Corners are shares of their part's box in steps of 1/65535, so a part of 1 m is drawn to 0.02 mm: fine for looking,
and nothing is measured on it. Large meshes are thinned so that the page stays light.
"""

from __future__ import annotations

import gzip
import json
from base64 import b64encode
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.findings import Finding
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.finding import spot_height
from packcheck.report.pictures.marks import OPEN, hue, size_words
from packcheck.report.pictures.overview import striking
from packcheck.report.pictures.svg import hexed
from packcheck.report.pictures.view import way
from packcheck.report.text.printable import printable
from packcheck.surfaces import OTHER, Model, Stance, Surface, shade

__all__ = ["MOST_FACES", "model_data", "packed", "thinned"]

MOST_FACES: Final = 400_000
"""Triangles of all parts together: about 4 MB in the page."""

MOST_LOOKED_AT: Final = 400
"""Findings the 3D model can go to, worst first."""

STEPS: Final = 65_535


def thinned(surfaces: Sequence[Surface], most: int = MOST_FACES) -> tuple[list[Surface], bool]:
    """The same surfaces with at most about `most` faces together, and whether any had to be made coarser."""
    share = most / max(sum(len(surface.faces) for surface in surfaces), 1)
    if share >= 1:
        return list(surfaces), False
    fair = most // max(len(surfaces), 1)
    return [
        s if len(s.faces) <= fair else _coarser(s, max(fair, int(len(s.faces) * share))) for s in surfaces
    ], True


def _coarser(surface: Surface, most: int) -> Surface:
    """Corners that share a cell become one; cells grow until the faces that are left are few enough."""
    size = float(np.ptp(surface.vertices, axis=0).max()) or 1.0
    cells = 512
    while True:
        vertices, faces = _clustered(surface.vertices, surface.faces, size / cells)
        if len(faces) <= most or cells <= 8:
            return Surface(surface.name, surface.kinds, vertices, faces)
        cells = int(cells * 0.8)


def _clustered(vertices: Points, faces: Faces, cell: float) -> tuple[Points, Faces]:
    keys = np.floor((vertices - vertices.min(axis=0)) / cell).astype(np.int64)
    _, first, owner = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    moved = owner.reshape(-1)[faces]
    whole = (moved[:, 0] != moved[:, 1]) & (moved[:, 1] != moved[:, 2]) & (moved[:, 2] != moved[:, 0])
    return vertices[first], moved[whole]


def packed(surfaces: Sequence[Surface]) -> str:
    """All corners, then all faces, gzipped, in base64: see page/source/unpack.js. Same surfaces, same text."""
    corners = b"".join(_shares(surface).tobytes() for surface in surfaces)
    faces = b"".join(surface.faces.astype("<u4").tobytes() for surface in surfaces)
    filler = b"\0" * (len(corners) % 4)  # faces begin at a multiple of four bytes; corners are even in number
    return b64encode(gzip.compress(corners + filler + faces, 9, mtime=0)).decode("ascii")


def _shares(surface: Surface) -> Points:
    low, size = surface.vertices.min(axis=0), np.ptp(surface.vertices, axis=0)
    shares = (surface.vertices - low) / np.where(size > 0, size, 1.0)
    rounded: Points = np.round(shares * STEPS).astype("<u2")
    return rounded


def model_data(findings: Sequence[Finding], model: Model, onlooker: Onlooker, units: str) -> str:
    """What the script must know, as JSON that may stand in a page: no `<` in it."""
    parts = {surface.name: surface for surface in model.surfaces}
    seen = [
        _look(k + 1, finding, model, onlooker, units)
        for k, finding in enumerate(findings[:MOST_LOOKED_AT])
        if finding.points is not None and any(name in parts for name in finding.subjects)
    ]
    colours = {
        printable(k): [hexed(c), None if s is None else hexed(s)] for k, (c, s) in striking(findings).items()
    }
    data = {
        "stances": [_stance(stance) for stance in model.stances],
        "parts": [_part(surface) for surface in model.surfaces],
        "findings": seen,
        "striking": colours,
        "other": hexed(OTHER),
        "up": way(model.axes, "up").tolist(),
        "whole": _whole(model, onlooker),
    }
    return json.dumps(data, allow_nan=False).replace("<", "\\u003c").replace("&", "\\u0026")


def _stance(stance: Stance) -> dict[str, list[float]]:
    """For each moved part the numbers of its 4 by 4 matrix, column by column."""
    matrices = {}
    for name, (turn, shift) in stance.moved.items():
        matrix = np.eye(4)
        matrix[:3, :3], matrix[:3, 3] = turn, shift
        matrices[printable(name)] = _listed(matrix.T.ravel())
    return matrices


def _part(surface: Surface) -> dict[str, Any]:
    return {
        "name": printable(surface.name),
        "kinds": list(surface.kinds) or ["no kind"],
        "colour": hexed(shade(surface.kinds)),
        "corners": len(surface.vertices),
        "faces": len(surface.faces),
        "low": _listed(surface.vertices.min(axis=0)),
        "high": _listed(surface.vertices.max(axis=0)),
    }


def _look(number: int, finding: Finding, model: Model, onlooker: Onlooker, units: str) -> dict[str, Any]:
    assert finding.points is not None
    stance = model.stance(finding.pose)
    if stance is not None:
        model = model.at(finding.pose)
        onlooker = Onlooker(model)
    eye = onlooker.eye(finding)
    of_pair = [surface for surface in model.surfaces if surface.name in finding.subjects]
    return {
        "number": number,
        "word": printable(finding.word),
        "subjects": [printable(name) for name in finding.subjects],
        "points": [_listed(point) for point in finding.points],
        "middle": _listed(finding.points.mean(axis=0)),
        "toward": _listed(eye.toward),
        "radius": round(spot_height(finding, of_pair) * 0.5, 1),
        "hiding": [printable(name) for name in eye.hiding],
        "colour": hexed(hue(finding.verdict)),
        "dashed": finding.verdict in OPEN,
        "size": size_words(finding, units),
        "stance": None if stance is None else model.stances.index(stance),
    }


def _whole(model: Model, onlooker: Onlooker) -> dict[str, Any]:
    boxes = [(s.vertices.min(axis=0), s.vertices.max(axis=0)) for s in model.surfaces] or [
        (np.zeros(3), np.ones(3))
    ]
    low, high = np.min([low for low, _ in boxes], axis=0), np.max([high for _, high in boxes], axis=0)
    radius = float(np.linalg.norm(high - low)) * 0.42
    return {
        "low": _listed(low),
        "high": _listed(high),
        "middle": _listed((low + high) / 2),
        "radius": round(radius, 1),
        "toward": _listed(onlooker.liked),
    }


def _listed(point: Points) -> list[float]:
    return [round(float(value), 6) + 0.0 for value in point]
