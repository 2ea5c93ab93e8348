r"""Parts grown by where their tolerances may shift them, so that only the shift along a gap counts, also in motion.

Three numbers shift a part by up to a box, along the axes of what it stands in. A convex part and all its shifted
copies lie in its sum with the box, which is convex again. What shifts the part where it rests turns along with it,
and so does the sum. What shifts the part and the line of its motion together does not turn, and is laid on the part
that stands still instead, the box being the same both ways; and the other way round for what shifts that part:

    T (x + p) + c - y        lies in  T (x grown by p) - (y grown by c)
    T (x - c) + c - (y + c)  lies in  T (x grown by c) - y
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from itertools import product

import numpy as np

from packcheck.arrays import Floats, Points, frozen, frozen_faces
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.line_slack import hanging
from packcheck.assembly.moving_pairs import MovingPair
from packcheck.proximity import Placed
from packcheck.solids.solid import Solid

__all__ = ["boxed_parts", "summed"]

MOST_BOXES = 2
"""Boxes laid on one part; of more, the diagonals are counted."""


def boxed_parts(assembly: Assembly, pair: MovingPair) -> tuple[dict[str, Placed], float] | None:
    """Both parts grown by their boxes, and the diagonals, mm, that need not be counted any more.

    None where that is not known: no boxes, parts that are not convex, several motions.
    """
    motions = [*pair.motions_a, *pair.motions_b]
    if len(motions) > 1 or not all(assembly.parts[name].convex for name in (pair.a, pair.b)):
        return None
    moved, still = (pair.a, pair.b) if pair.motions_a else (pair.b, pair.a)
    along = set(hanging(assembly, assembly.scene.motions[motions[0]].frame))
    boxes: dict[str, list[Floats]] = {moved: [], still: []}
    for name, _ in assembly.slacks.counting(pair.a, pair.b):
        turns = (name in hanging(assembly, moved)) != (name in along)
        boxes[moved if turns else still] += list(assembly.slacks.own(name).boxes)
    if not any(boxes.values()) or max(map(len, boxes.values())) > MOST_BOXES:
        return None
    grown = {}
    for name, own in boxes.items():
        placed = assembly.parts[name]
        (solid,) = placed.solids
        larger = summed(solid, np.array(own).reshape(-1, 3, 3) @ placed.pose.rotation)
        if larger is None:
            return None
        grown[name] = Placed(name, (larger,), placed.pose)
    return grown, sum(float(np.linalg.norm(box)) for own in boxes.values() for box in own)


def summed(solid: Solid, boxes: Floats) -> Solid | None:
    """A convex solid and boxes (k, 3, 3), their half edges as rows, in sum; None where that is flat."""
    from scipy.spatial import ConvexHull, QhullError

    if not len(boxes):
        return solid
    support = solid.support
    assert support is not None
    points = solid.vertices[np.unique(solid.faces)]
    for box in boxes:
        corners = np.unique(np.array(list(product((-1, 1), repeat=3))) @ box, axis=0)
        points = (points[:, None] + corners[None]).reshape(-1, 3)
    rows = boxes.reshape(-1, 3)

    def farther(directions: Points) -> Points:
        reached: Points = support(directions) + np.sign(directions @ rows.T) @ rows
        return reached

    with suppress(QhullError):
        hull = ConvexHull(points)
        used = np.unique(hull.simplices)
        faces = np.searchsorted(used, hull.simplices)
        vertices = points[used]
        a, b, c = (vertices[faces[:, k]] for k in range(3))
        inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), hull.equations[:, :3]) < 0
        faces[inward] = faces[inward][:, ::-1]
        return replace(
            solid,
            vertices=frozen(vertices),
            faces=frozen_faces(faces),
            closed=True,
            support=farther,
            pieces=frozen(vertices[:1]),
            draft=None,
            whole=None,
        )
    return None
