r"""Mirror images: the solids really reflected, standing where the mirror shows those of the part they mirror.

    car_from_image = M car_from_part F          F turns the part's own left into its own right, M the car's across
                                                the mirror: two reflections, so what is left is a pose

What is not known of the frames between is counted along the chains of the two (`packcheck.notknown`): the image of
a frame that stands too far left stands too far right.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from packcheck.arrays import frozen
from packcheck.frames import Pose, turn_degrees
from packcheck.scene.model.scene import Part

__all__ = ["image_of", "imaged"]


def imaged(part: Part, source: Part, pose: Callable[[str], Pose]) -> Part:
    """The part where the mirror shows its `source`, but for what the file states of it.

    `pose` is that of everything the two hang on, and of the source, in the car.
    """
    mirror = part.mirror
    assert mirror is not None
    stand = pose(part.parent).inverse() @ image_of(pose(source.name), pose(mirror.across), mirror.axis)
    if mirror.placed:
        x, y, z = stand.translation.tolist()
        part = replace(part, at=(x, y, z), faces=())
    if mirror.turned:
        part = replace(part, turn=turn_degrees(stand.rotation))
    return part


def image_of(stand: Pose, across: Pose, axis: int) -> Pose:
    """Where the image stands of what stands so, across the middle, along `axis`, of another pose."""
    flip = np.eye(3)
    flip[axis, axis] = -1.0
    mirror = across.rotation @ flip @ across.rotation.T
    place = across.translation + mirror @ (stand.translation - across.translation)
    return Pose(frozen(mirror @ stand.rotation @ flip), frozen(place))
