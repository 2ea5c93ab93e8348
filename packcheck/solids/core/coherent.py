"""An order of faces in which neighbours in the list are neighbours in space.

The proximity kernel cuts the list into patches by counting; the order is found once, when a mesh is read, and kept
in the cache with it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Points
from packcheck.tolerances import PATCH_FACES

__all__ = ["coherent_order"]


def coherent_order(vertices: Points, faces: Faces) -> npt.NDArray[np.int64]:
    """Indices (m,) that sort `faces` (m, 3) so that each run of PATCH_FACES is a compact patch.

    The faces are halved along their longest side, at a whole number of patches, again and again.
    """
    corners = vertices[faces]
    middles = (corners.min(axis=1) + corners.max(axis=1)) / 2
    done: list[npt.NDArray[np.int64]] = []
    waiting = [np.arange(len(faces))]
    while waiting:
        group = waiting.pop()
        if len(group) <= PATCH_FACES:
            done.append(group)
            continue
        here = middles[group]
        axis = int(np.argmax(np.ptp(here, axis=0)))
        half = PATCH_FACES * max(1, round(len(group) / PATCH_FACES / 2))
        order = np.argpartition(here[:, axis], half)
        waiting += [group[order[half:]], group[order[:half]]]
    return np.concatenate(done)
