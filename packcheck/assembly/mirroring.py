r"""Mirror images: the solids really reflected, standing where the mirror shows those of the part they mirror.

    car_from_image = M car_from_part F          F turns the part's own left into its own right, M the car's across
                                                the mirror: two reflections, so what is left is a pose

The image hangs on something of its own. What the tolerances of all frames between can do to it, seen from there, is
added to its own: the image of a frame that stands too far left stands too far right.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packcheck.arrays import frozen
from packcheck.assembly.tolerance import own_slack
from packcheck.frames import Pose, turn_degrees
from packcheck.scene.model import Frame, Part

__all__ = ["imaged"]

Chain = Callable[[str], Sequence[str]]
"""A frame or part and everything it hangs on, up to the car."""


def imaged(
    part: Part, source: Part, nodes: Mapping[str, Frame | Part], pose: Callable[[str], Pose], chain: Chain
) -> Part:
    """The part where the mirror shows its `source`, but for what the file states of it.

    `pose` and `chain` tell of everything the two hang on, and of the source.
    """
    mirror = part.mirror
    assert mirror is not None
    stand = pose(part.parent).inverse() @ _image(pose(source.name), pose(mirror.across), mirror.axis)
    if mirror.placed:
        x, y, z = stand.translation.tolist()
        part = replace(part, at=(x, y, z), faces=())
    if mirror.turned:
        part = replace(part, turn=turn_degrees(stand.rotation))
    if not mirror.known:
        return part
    return _spread(part, source, pose, _doubt(part, source, nodes, chain))


def _image(stand: Pose, across: Pose, axis: int) -> Pose:
    flip = np.eye(3)
    flip[axis, axis] = -1.0
    mirror = across.rotation @ flip @ across.rotation.T
    place = across.translation + mirror @ (stand.translation - across.translation)
    return Pose(frozen(mirror @ stand.rotation @ flip), frozen(place))


_TIMES: Final = {(True, True, True): 0.0, (True, False, True): 2.0, (False, True, False): 2.0}
"""How often a shift counts of what carries (the source, the mirror, the image); once where not given."""


def _doubt(part: Part, source: Part, nodes: Mapping[str, Frame | Part], chain: Chain) -> float:
    """How far the image may stand off where it is put, mm, by the tolerances of what it and its source hang on.

    A shift e of what the source hangs on moves the image by the reflection of e; of what the mirror hangs on, by e
    less its reflection. Of what the image hangs on, e itself is counted there, and must be taken off.
    """
    assert part.mirror is not None
    carriers = [set(chain(name)) for name in (source.parent, part.mirror.across, part.parent)]
    doubt = 0.0
    for name in sorted(set.union(*carriers)):
        on_source, on_mirror, on_image = (name in those for those in carriers)
        doubt += _TIMES.get((on_source, on_mirror, on_image), 1.0) * own_slack(nodes[name]).most
    return doubt


def _spread(part: Part, source: Part, pose: Callable[[str], Pose], doubt: float) -> Part:
    """The part with the tolerance of its source as the mirror shows it, and the `doubt` beside it, mm."""
    own = own_slack(part)
    if part.tolerance_is_ball or not any(part.tolerance):
        ball = own.ball + doubt if doubt else part.tolerance[0]
        return replace(part, tolerance=(ball, ball, ball), tolerance_is_ball=True)
    assert part.mirror is not None
    across = pose(part.mirror.across).rotation
    flip = np.eye(3)
    flip[part.mirror.axis, part.mirror.axis] = -1.0
    turned = pose(part.parent).rotation.T @ across @ flip @ across.T @ pose(source.parent).rotation
    x, y, z = (np.abs(turned) @ np.array(part.tolerance) + doubt).tolist()
    return replace(part, tolerance=(x, y, z))
