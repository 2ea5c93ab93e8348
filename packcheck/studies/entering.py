"""Does what goes into another part reach it, and which pairs are not measured?

How deep it goes is not asked. The two must meet: stand no farther apart than parts that are bolted together may,
or the first stand within the hull of the other, as in a hole or in the mouth of a tube. What stands apart does not
reach.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.assembly.assembly import Assembly
from packcheck.datums import length_words
from packcheck.errors import QueryError
from packcheck.findings import Finding, Limit, RuleNote
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Placed, Separation, Session
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.tolerances import JOINT_GAP

__all__ = ["WORD", "entering", "unmeasured"]

WORD = "does not reach"


def entering(assembly: Assembly, session: Session, study: str, wanted: Collection[str]) -> Iterator[Finding]:
    """A finding for each part that `goes_into` another, one of them `wanted`, and is not known to meet it."""
    for a, b in assembly.rules.unasked.entries(wanted):
        most = JOINT_GAP + assembly.doubt(a, b).most
        blank = Finding(
            study,
            (a, b),
            WORD,
            limit=Limit(most=most),
            rule=RuleNote((a, b), f"{a} goes into {b}, so the two must meet", "this scene (goes_into)"),
            mark=assembly.scene.parts[a].mark,
        )
        try:
            found = _apart(session, assembly.parts[a], assembly.parts[b], most)
        except QueryError as error:
            yield replace(blank, word="not checked", skipped=str(error))
            continue
        if found is not None:
            yield _told(assembly, blank, found)


def _apart(session: Session, a: Placed, b: Placed, most: float) -> Separation | None:
    """How far apart the two are; None where they surely meet."""
    if session.bounds(a, b, below=most).high <= most:
        return None
    hull = _hull(b)
    if hull is not None and session.bounds(a, hull, below=most).high <= most:
        return None
    return session.joint_gap(a, b, most)


def _hull(part: Placed) -> Placed | None:
    """A part filled out to its convex hull: what stands in a hole of the one stands in the other."""
    if part.convex:
        return None
    from scipy.spatial import ConvexHull, QhullError

    points = np.vstack([solid.vertices for solid in part.solids])
    try:
        hull = ConvexHull(points)
    except QhullError:  # flat: there is no hole in it
        return None
    outward = np.einsum("ij,ij->i", np.cross(*_sides(points, hull.simplices)), hull.equations[:, :3]) > 0
    faces = np.where(outward[:, None], hull.simplices, hull.simplices[:, ::-1])
    filled = Solid(
        frozen(points),
        frozen_faces(faces),
        radius=max(solid.radius for solid in part.solids),
        error=max(solid.error for solid in part.solids),
        support=polyhedron_support(points[hull.vertices]),
        pieces=frozen(points[hull.vertices[:1]]),
    )
    return Placed(f"hull of {part.name}", (filled,), part.pose)


def _sides(points: Points, faces: Faces) -> tuple[Points, Points]:
    first, second, third = (points[faces[:, k]] for k in range(3))
    return second - first, third - first


def _told(assembly: Assembly, blank: Finding, found: Separation) -> Finding:
    points, (a, b) = found.points, blank.subjects
    far = length_words(max(found.value, 0.0), assembly.scene.units)
    return replace(
        blank,
        value=found.value,
        low=found.low,
        high=found.high,
        points=points,
        direction=found.direction,
        where=None if points is None else assembly.datums.place(points.mean(axis=0)),
        note="; ".join(filter(None, [f"{a} goes into {b}, and ends {far} from it", found.doubt])),
    )


def unmeasured(
    assembly: Assembly,
    wanted: Collection[str],
    unasked: Sequence[tuple[str, str]],
    apart: Sequence[Finding],
) -> Iterator[str]:
    """What the file says that need not be measured, in words; air only where the boxes of the two may meet."""
    told = {finding.subjects for finding in apart}
    for a, b in assembly.rules.unasked.entries(wanted):
        if (a, b) not in told:
            yield f"{a} goes into {b}: not measured, as the file says"
    index = {name: k for k, name in enumerate(assembly.parts)}
    for a, b in unasked:
        found = assembly.rules.unasked.air_beside(a, b)
        far = box_distance(assembly.boxes[index[a]], assembly.boxes[index[b]])
        if found and far <= assembly.doubt(a, b).most:
            air, other, owner = found
            yield f"{other} may stand in the {air}: not measured, as it is joined to {owner}"
