"""What the scene leaves out of a geometry file on purpose: all beyond a box, and crumbs."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Floats
from packcheck.scene.model.scene import Triple
from packcheck.solids.core.mend import Mend
from packcheck.solids.core.wording import counted
from packcheck.solids.formats.gate import RefusedError

__all__ = ["cropped", "without_crumbs"]


def cropped(mend: Mend, box: tuple[Triple, Triple] | None) -> tuple[Mend, tuple[str, ...]]:
    """Only the triangles that may reach into a box (least and greatest corner, mm), whole, and what went.

    A triangle goes when its own box misses the other, so nothing that lies in the box is ever lost.
    """
    if box is None:
        return mend, ()
    corners = mend.vertices[mend.faces]
    low, high = np.array(box)
    keep = ((corners.min(axis=1) <= high) & (corners.max(axis=1) >= low)).all(axis=1)
    if not keep.any():
        reach = " to ".join(_point(end) for end in (corners.min(axis=(0, 1)), corners.max(axis=(0, 1))))
        raise RefusedError("has nothing within the box of crop", mend=f"it reaches from {reach} mm")
    gone = int((~keep).sum())
    words = (f"cropped: {counted(gone, 'face')} of {len(keep)} left out",) if gone else ()
    return Mend(mend.vertices, mend.faces[keep], mend.error, mend.words).compact(), words


def _point(point: Floats) -> str:
    return f"[{', '.join(f'{x:.6g}' for x in point)}]"


def without_crumbs(mend: Mend, least: float) -> tuple[Mend, tuple[str, ...]]:
    """Without connected pieces whose longest side is under `least` mm, and what went."""
    if not least:
        return mend, ()
    piece = mend.pieces[0]
    order = np.argsort(piece, kind="stable")
    starts = np.flatnonzero(np.diff(piece[order], prepend=-1))
    corners = mend.vertices[mend.faces[order]]
    low, high = np.minimum.reduceat(corners.min(axis=1), starts), np.maximum.reduceat(corners.max(axis=1), starts)
    sizes = (high - low).max(axis=1)
    small = sizes < least
    if small.all():
        raise RefusedError(
            f"has no piece of {least:g} mm or more, its largest is {sizes.max():.4g} mm",
            why="pieces hang together by their edges; a mesh whose triangles are not joined falls apart",
            mend="ask for smaller pieces, or join its vertices before exporting it",
        )
    if not small.any():
        return mend, ()
    areas = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    share = 100 * areas[small[piece[order]]].sum() / areas.sum()
    words = (
        f"dropped {counted(int(small.sum()), 'loose piece')} under {least:g} mm "
        f"(the largest {sizes[small].max():.4g} mm; {share:.2g} % of the surface)"
    )
    return Mend(mend.vertices, mend.faces[~small[piece]], mend.error, mend.words).compact(), (words,)
