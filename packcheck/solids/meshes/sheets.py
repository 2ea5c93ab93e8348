"""A surface of known thickness as a thick, closed polyhedron.

    side outer          side inner          side middle
    ========= surface   --------- +t        --------- +t/2
    |       |           |       |           ========= surface
    --------- -t        ========= surface   --------- -t/2

Every vertex moves along its mitre, the vector that stands 1 above the plane of each face around it, so that all
of them move by exactly the thickness where one vector can do that. The skin is thus taken as mitred at folds; a
rounded one lies within it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points, Vector
from packcheck.scene.model.scene import Side
from packcheck.solids.core.seams import cracked
from packcheck.solids.core.topology import Edges, Flags, components, edges_of
from packcheck.solids.core.winding import winding_numbers

__all__ = ["Skin", "mitres_of", "skin_of"]

_LEVELS: Final = {"outer": (0.0, -1.0), "inner": (1.0, 0.0), "middle": (0.5, -0.5)}
"""Upper and lower face of the skin along the normals, in thicknesses."""

_LONGEST_MITRE: Final = 2.0
"""Thicknesses. A fold of 120 degrees; a sharper one would throw out a spike, so it is cut and counts as error."""

_ALIKE: Final = 1e-4
"""Of the largest eigenvalue: normals that differ less (0.6 degrees) count as one plane, so that rounding in
nearly flat places does not tilt the mitre. Costs at most 5e-5 of the thickness."""

_WORST: Final = 0.5
"""Of the offset: with a larger deviation the skin is no better than a ball swept over the surface."""

_PROBE_WORK: Final = 20_000_000
"""Point-triangle pairs spent on telling whether a fold has turned the skin inside out: about a second."""


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """A thick surface: closed, or (with the `reason` why not) open triangles with a ball swept over them.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
    radius, error : float
        As in `Solid`, mm.
    reason : str
        Why no closed skin could be made; empty when it was.
    """

    vertices: Points
    faces: Faces
    radius: float = 0.0
    error: float = 0.0
    reason: str = ""


def skin_of(vertices: Points, faces: Faces, thickness: float, side: Side) -> Skin:
    """The skin of constant `thickness` that has the surface as its outer, inner or middle face.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        Wound alike. A closed surface becomes a hollow body.
    thickness : float
        Above zero, mm.
    side : {"outer", "inner", "middle"}
        Which face of the skin was modelled; the normals point out.

    Returns
    -------
    Skin
        `error` is the largest ``|n . (moved - vertex) - offset|`` over the corners of all faces, so every moved
        face lies that near to its own plane shifted by the offset, or what the skin may lack along cracks, when
        that is more. With a `reason`, a ball of half the reach swept over the surface, and as much error: from no
        skin to twice the ball.
    """
    levels = _LEVELS[side]
    reach = thickness * max(map(abs, levels))
    edges = edges_of(faces)
    if (edges.uses > 2).any() or ((edges.uses == 2) & (edges.net != 0)).any():
        return Skin(vertices, faces, reach / 2, reach / 2, "its faces do not join two by two, wound alike")
    split, own = _one_fan_each(faces, edges)
    points = vertices[split]
    mitres, deviation = mitres_of(points, own)
    if deviation > _WORST:
        return Skin(vertices, faces, reach / 2, reach / 2, "it folds too sharply")
    lacks = cracked(vertices, faces, edges, reach)
    if lacks > _WORST * reach:
        return Skin(vertices, faces, reach / 2, reach / 2, "its borders run along a fold without being joined")
    upper, lower = (points + level * thickness * mitres for level in levels)
    error = max(deviation * reach, lacks)
    skin = Skin(np.concatenate([upper, lower]), _walled(own, edges, len(points)), error=error)
    folded = _folded(points, upper, own) | _folded(points, lower, own)
    if folded.any() and _inside_out(skin, points[own[folded]], np.multiply(levels, thickness)):
        return Skin(vertices, faces, reach / 2, reach / 2, "it bends tighter than it is thick")
    return skin


def _one_fan_each(faces: Faces, edges: Edges) -> tuple[Faces, Faces]:
    """Split vertices where fans of faces touch only in a point: old vertex (k,) of each new one; new faces."""
    first = edges.first[edges.uses == 2]
    here, there = edges.halves[first], edges.halves[first + 1]
    links = [np.stack([here, _next(there)], axis=1), np.stack([_next(here), there], axis=1)]
    corner = components(faces.size, np.concatenate(links))
    _, lead = np.unique(corner, return_index=True)
    return faces.ravel()[lead], corner.reshape(faces.shape)


def _next(halves: Faces) -> Faces:
    """The corner at the other end of half-edges."""
    return halves - halves % 3 + (halves + 1) % 3


def _normals(points: Points, faces: Faces) -> Floats:
    """Unit normals (m, 3); zero for faces without area."""
    corners = points[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    unit: Floats = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    return unit


def mitres_of(points: Points, faces: Faces) -> tuple[Points, float]:
    """Mitre (n, 3) of each vertex, and the largest deviation of any face from standing 1 off."""
    normals = _normals(points, faces)
    weights = _angles(points, faces)
    matrix, right = np.zeros((len(points), 3, 3)), np.zeros((len(points), 3))
    for corner in range(3):
        weighted = normals * weights[:, corner, None]
        for i in range(3):
            right[:, i] += np.bincount(faces[:, corner], weights=weighted[:, i], minlength=len(points))
            for j in range(3):
                products = weighted[:, i] * normals[:, j]
                matrix[:, i, j] += np.bincount(faces[:, corner], weights=products, minlength=len(points))
    mitres = _solved(matrix, right)
    lengths = np.linalg.norm(mitres, axis=1, keepdims=True)
    mitres *= np.minimum(1.0, _LONGEST_MITRE / np.maximum(lengths, 1.0))
    stands = np.einsum("mi,mci->mc", normals, mitres[faces])
    return mitres, float(np.abs(stands - 1.0)[normals.any(axis=1)].max(initial=0.0))


def _solved(matrix: Floats, right: Floats) -> Points:
    """Shortest x with ``matrix @ x = right`` in the directions in which the normals really differ."""
    values, axes = np.linalg.eigh(matrix)
    keep = values > _ALIKE * values[:, -1:]
    along = np.einsum("nij,ni->nj", axes, right)
    along = np.divide(along, values, out=np.zeros_like(along), where=keep)
    solved: Points = np.einsum("nij,nj->ni", axes, along)
    return solved


def _angles(points: Points, faces: Faces) -> Floats:
    """Angle (m, 3) of each face at each corner, rad: how much of the surroundings of a vertex a face takes."""
    corners = points[faces]
    ahead, back = corners[:, [1, 2, 0]] - corners, corners[:, [2, 0, 1]] - corners
    sines = np.linalg.norm(np.cross(ahead, back), axis=2)
    angles: Floats = np.arctan2(sines, np.einsum("mci,mci->mc", ahead, back))
    return angles


def _walled(faces: Faces, edges: Edges, count: int) -> Faces:
    """Upper faces, lower faces turned over, and walls along the border.

    a ----> b   upper          walls run b to a above and a to b below
    |     / |
    a' <--- b'  lower
    """
    half = edges.halves[edges.first[edges.uses == 1]]
    a, b = faces.ravel()[half], faces.ravel()[_next(half)]
    walls = [np.stack([b, a, a + count], axis=1), np.stack([b, a + count, b + count], axis=1)]
    return np.concatenate([faces, faces[:, ::-1] + count, *walls])


def _folded(before: Points, after: Points, faces: Faces) -> Flags:
    """Faces that have turned over, or an edge of which has turned round."""
    old, new = before[faces], after[faces]
    edges = np.einsum("mci,mci->mc", old[:, [1, 2, 0]] - old, new[:, [1, 2, 0]] - new)
    turned = np.einsum("mi,mi->m", _normals(before, faces), _normals(after, faces))
    folded: Flags = (edges < 0).any(axis=1) | (turned < 0)
    return folded


def _inside_out(skin: Skin, folded: Points, levels: Vector) -> bool:
    """Whether the closed skin fails to wind round material it must hold, under some of the folded faces.

    In a concave corner the moved faces overlap, which is harmless: they are counted twice. In a tube thicker than
    its radius they cross the axis, come out wound the other way and leave a hole that is not there.
    """
    many = int(np.clip(_PROBE_WORK // (3 * len(skin.faces)), 4, 64))
    chosen = folded[np.linspace(0, len(folded) - 1, min(many, len(folded))).astype(np.int64)]
    normals = _normals(chosen.reshape(-1, 3), np.arange(3 * len(chosen)).reshape(-1, 3))
    upper, lower = levels
    depths = (upper + (lower - upper) * part for part in (0.05, 0.5, 0.95))
    probes = np.concatenate([chosen.mean(axis=1) + depth * normals for depth in depths])
    return bool((winding_numbers(probes, skin.vertices, skin.faces) < 0.5).any())
