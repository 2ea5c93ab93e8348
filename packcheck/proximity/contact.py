r"""Where does a part that comes from far along a straight line first meet another?

Between cores without a radius the answer is exact for their triangles. Seen along the line both are flat pictures;
over every point of the picture they share, the part hangs by (its underside less the other's upper side), and the
line may be shortened by the least of that. On two triangles it is least at a corner of what they share: a corner of
one over the other, or two edges that cross.

      A  \__/                          patches are taken in the order of what they could at most come to, and
           | least                     the search ends when none can better the best
      B /\_/\__

Parts that only slide past each other, flush, must not count as met, whichever way the last figure is rounded. So
the pictures are laid over each other four times, each shifted a hair to another side, and the least contact counts.

Where a ball is swept over a core (spheres, pipes, wraps) the part is advanced by what its gap allows until it
touches: conservative advancement, Mirtich 1996; between convex cores by what their separating plane allows.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, Vector, flat_cross, frozen
from packcheck.errors import Fault, QueryError
from packcheck.frames import Pose
from packcheck.proximity.nearest import core_distance
from packcheck.proximity.pairs import Body
from packcheck.proximity.separation import Placed
from packcheck.search.march import Ended, closed_in, kept_until
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import PATCH_FACES

__all__ = ["first_contact"]

_HAIR: Final = 1e-4  # mm; by which the pictures are shifted: nothing flush to this counts as met
_SHIFTS: Final = _HAIR * np.array([[1.0, 0.62], [-0.62, 1.0], [-1.0, -0.62], [0.62, -1.0]])
_SLENDER: Final = 1e-12  # of the square of its size: a triangle seen from its edge has no picture
_LEVEL: Final = 1e-6  # radians; a face that looks away by less is taken along
_NEAR: Final = 1e-4  # mm; an advance ends here
_MOST_STEPS: Final = 20_000  # of an advance: a hundred millimetres past a flank that is nearly touched
_SHALLOW: Final = 1e-3  # of a slope: what is less steep is slid along
_SUNK: Final = 0.005  # mm; a ball swept round a core that is touched by less slides past


def first_contact(mover: Placed, still: Placed, way: Vector) -> float | None:
    """How far along the unit vector `way` (3,), car frame, must `mover` be shifted to just touch `still`?

    It comes from infinitely far out along `way`, so that this is the greatest shift at which the two touch. None
    when it passes by. Within 0.01 mm for the cores and radii of the solids; their errors are left out. Raises
    QueryError where it slides past so closely, and for so long, that no contact can be told.
    """
    frame = _looking_along(way)
    met = [
        shift
        for a in mover.solids
        for b in still.solids
        if (shift := _met(a, _seen(mover.pose, frame), b, _seen(still.pose, frame))) is not None
    ]
    return max(met, default=None)


def _looking_along(way: Vector) -> Floats:
    """A rotation (3, 3) whose rows are two directions across `way`, and `way`."""
    helper = np.eye(3)[int(np.argmin(np.abs(way)))]
    across = np.cross(helper, way)
    across /= np.linalg.norm(across)
    return np.stack([across, np.cross(way, across), way])


def _seen(pose: Pose, frame: Floats) -> Pose:
    return Pose(frozen(frame @ pose.rotation), frozen(frame @ pose.translation))


def _met(a: Solid, pose_a: Pose, b: Solid, pose_b: Pose) -> float | None:
    """The same for two solids; the line runs along z."""
    radius = a.radius + b.radius
    one, other = pose_a.apply(a.vertices), pose_b.apply(b.vertices)
    reach = radius + 2 * _HAIR
    beside = (one.min(axis=0) - other.max(axis=0))[:2].max(), (other.min(axis=0) - one.max(axis=0))[:2].max()
    if max(beside) > reach:
        return None
    if radius:
        return _advanced(a, pose_a, b, pose_b)
    over, under = _facing(a, one, -1.0), _facing(b, other, 1.0)
    shifts = [_hung(over + np.append(shift, 0.0), under) for shift in _SHIFTS]
    return None if min(shifts) == -np.inf else float(min(shifts))


def _facing(solid: Solid, corners: Points, side: float) -> Floats:
    """The triangles (k, 3, 3) of a solid; of a convex one, those that do not look away from the other along z."""
    found: Floats = corners[solid.faces]
    if not solid.convex:
        return found
    normals = np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0])
    outward = np.einsum("ij,ij->i", normals, found[:, 0] - found.mean(axis=(0, 1)))
    away = side * np.sign(outward) * normals[:, 2] < -_LEVEL * np.linalg.norm(normals, axis=1)
    return found if away.all() else found[~away]


def _hung(over: Floats, under: Floats) -> float:
    """The greatest height of triangles `under` (m, 3, 3) above `over` (n, 3, 3) where their pictures share a point.

    -inf where they share none.
    """
    ours, theirs = _patches(over), _patches(under)
    most = theirs[2][:, 1][None, :] - ours[2][:, 0][:, None]
    for axis in (0, 1):
        most[(ours[axis][:, None, 0] > theirs[axis][None, :, 1])] = -np.inf
        most[(ours[axis][:, None, 1] < theirs[axis][None, :, 0])] = -np.inf
    best = -np.inf
    for place in np.argsort(-most, axis=None):
        i, j = divmod(int(place), most.shape[1])
        if most[i, j] <= best:
            break
        mine = over[i * PATCH_FACES : (i + 1) * PATCH_FACES]
        yours = under[j * PATCH_FACES : (j + 1) * PATCH_FACES]
        best = max(best, _pictured(mine, yours, best))
    return best


def _patches(triangles: Floats) -> list[Floats]:
    """Least and greatest x, y and z (3 arrays of (k, 2)) of every run of triangles."""
    starts = np.arange(0, len(triangles), PATCH_FACES)
    low = np.minimum.reduceat(triangles.min(axis=1), starts)
    high = np.maximum.reduceat(triangles.max(axis=1), starts)
    return [np.stack([low[:, axis], high[:, axis]], axis=1) for axis in range(3)]


def _pictured(over: Floats, under: Floats, best: float) -> float:
    """The same, of two patches, all against all that could better `best`."""
    over = over[_could_meet(over, under, 1.0, best)]
    if not len(over) or not len(under := under[_could_meet(under, over, -1.0, best)]):
        return best
    low_a, high_a, low_b, high_b = over.min(axis=1), over.max(axis=1), under.min(axis=1), under.max(axis=1)
    shared = high_b[None, :, 2] - low_a[:, None, 2] > best
    for axis in (0, 1):
        shared &= low_a[:, None, axis] <= high_b[None, :, axis]
        shared &= high_a[:, None, axis] >= low_b[None, :, axis]
    i, j = np.nonzero(shared)
    if not len(i):
        return best
    a, b = over[i], under[j]
    heights = [_corners_over(a, b), -_corners_over(b, a, least=True), _edges_crossing(a, b)]
    return max(best, *(float(height.max()) for height in heights))


def _could_meet(triangles: Floats, others: Floats, side: float, best: float) -> npt.NDArray[np.bool_]:
    """Which triangles share pictures with the box of all others, and stand where that could better `best`."""
    low, high = triangles.min(axis=1), triangles.max(axis=1)
    least, most = others.min(axis=(0, 1)), others.max(axis=(0, 1))
    apart = most[2] - low[:, 2] if side > 0 else high[:, 2] - least[2]
    found: npt.NDArray[np.bool_] = (apart > best) & ((low <= most) & (high >= least))[:, :2].all(axis=1)
    return found


def _corners_over(corners: Floats, faces: Floats, *, least: bool = False) -> Floats:
    """How far each face (k, 3, 3) lies above the corners (k, 3, 3) it is seen behind: the most, or the least."""
    nothing = np.inf if least else -np.inf
    first, second, third = (faces[:, None, n] for n in range(3))
    area = flat_cross(second - first, third - first)
    size = np.abs(faces - faces[:, :1]).max(axis=(1, 2))[:, None] ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        one = flat_cross(third - second, corners - second) / area
        two = flat_cross(first - third, corners - third) / area
        rest = 1.0 - one - two
        height = one * first[..., 2] + two * second[..., 2] + rest * third[..., 2] - corners[..., 2]
        inside = (one >= 0) & (two >= 0) & (rest >= 0) & (np.abs(area) > _SLENDER * size)
    found: Floats = np.where(inside, height, nothing)
    return found


def _edges_crossing(a: Floats, b: Floats) -> Floats:
    """How far the edges of b lie above those of a where they cross (k, 3, 3), else -inf."""
    start, along = a[:, :, None], (np.roll(a, -1, axis=1) - a)[:, :, None]
    other, beside = b[:, None], (np.roll(b, -1, axis=1) - b)[:, None]
    turn = flat_cross(along, beside)
    with np.errstate(divide="ignore", invalid="ignore"):
        mine = flat_cross(other - start, beside) / turn
        yours = flat_cross(other - start, along) / turn
        height = other[..., 2] + yours * beside[..., 2] - start[..., 2] - mine * along[..., 2]
        crossing = (mine >= 0) & (mine <= 1) & (yours >= 0) & (yours <= 1)
    found: Floats = np.where(crossing, height, -np.inf)
    return found


def _advanced(a: Solid, pose_a: Pose, b: Solid, pose_b: Pose) -> float | None:
    """Cores with a ball swept round them, by advancing along z from where they are surely apart."""
    one, other = Body(a), Body(b)
    upper, lower = pose_a.apply(a.vertices)[:, 2], pose_b.apply(b.vertices)[:, 2]
    radius = a.radius + b.radius
    top, end = float(lower.max() - upper.min()) + radius, float(lower.min() - upper.max()) - radius

    def step(gone: float) -> tuple[float, float]:
        apart, lean = _core_gap(one, pose_a, other, pose_b, top - gone)
        free = apart - radius + _SUNK
        closing = max(lean, 0.0) if a.convex and b.convex else 1.0
        return (0.0 if free < _NEAR else free / closing if closing > 1e-9 else np.inf), 0.0

    come = kept_until(step, 0.0, top - end, _MOST_STEPS)
    if come.ended is Ended.END:
        return None
    if come.ended is Ended.SPENT:
        what = f"where {_MOST_STEPS} steps do not lead to a contact, none can be told"
        raise QueryError([Fault(None, what)])
    return _drawn_out(lambda s: _core_gap(one, pose_a, other, pose_b, s), radius, top - come.proven)


def _core_gap(a: Body, pose_a: Pose, b: Body, pose_b: Pose, shift: float) -> tuple[float, float]:
    """The distance of two cores, mm, once the first is shifted along z, and how far that grows for each mm more."""
    shifted = pose_a.shifted(np.array([0.0, 0.0, shift]))
    found = core_distance(a.patches, b.patches, shifted.inverse() @ pose_b)
    assert found is not None
    apart = float(found[0])
    lean = shifted.rotate(found[1] - found[2])[2] / apart if apart > 1e-9 else 1.0
    return apart, float(lean)


def _drawn_out(core_gap: Callable[[float], tuple[float, float]], radius: float, shift: float) -> float:
    """The nearest shift back along the line where the gap is nothing; the given one where it slides along."""

    def gap(at: float) -> float:
        return core_gap(at)[0] - radius

    back = shift + 10 * _SUNK / max(core_gap(shift)[1], _SHALLOW)
    if gap(back) < 0:
        return shift
    return closed_in(lambda s: (gap(s), 0.0), shift, back, _NEAR / 100).kept
