"""What it adds that a part is the mirror image across the car of one that hangs on a frame of its own.

    car's middle      |        frame's middle, off by d
                 image|   :  part          the part goes by +d, its image by -d: 2 d between the two,
                      |   :                where across the frame it would be nothing

Told where nobody said across what the image is, and where the frame stands nearer to the car's middle than to the
part: an engine, not a rail that has its like on the other side.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.datums import length_words
from packcheck.placing.mirroring import image_of
from packcheck.scene.model.scene import CAR, Frame, Part

__all__ = ["image_notes"]

_TELLING = 0.1  # mm. What adds less is not told: it would not show in a printed tenth


def image_notes(assembly: Assembly) -> Iterator[str]:
    """For each image across the car by default: what its frame adds, and which `across` leaves that out."""
    for part in assembly.scene.parts.values():
        mirror = part.mirror
        if mirror is None or not mirror.default or not mirror.placed or mirror.of not in assembly.parts:
            continue
        frame = _frame(assembly, mirror.of)
        if frame not in (CAR, mirror.across) and (adds := _adds(assembly, part, frame)) > _TELLING:
            yield _note(assembly, part, frame, adds)


def _frame(assembly: Assembly, part: str) -> str:
    """The frame that a part hangs on, by other parts or not."""
    name = assembly.scene.parts[part].parent
    while name in assembly.scene.parts:
        name = assembly.scene.parts[name].parent
    return name


def _adds(assembly: Assembly, part: Part, frame: str) -> float:
    """How much, mm, what is not known of frames counts between a part and its image; nothing if beside them."""
    mirror = part.mirror
    assert mirror is not None
    middle = assembly.poses[mirror.across]
    normal = middle.rotation[:, mirror.axis]
    places = (assembly.poses[frame].translation, assembly.box(mirror.of).mean(axis=0))
    frame_off, part_off = (abs(float((place - middle.translation) @ normal)) for place in places)
    if frame_off >= part_off / 2:
        return 0.0
    sources = assembly.account.sources_between(part.name, mirror.of)
    frames = [name for name in sources if isinstance(assembly.scene.frames.get(name), Frame)]
    return sum(assembly.account.only(name).between(part.name, mirror.of).across(normal) for name in frames)


def _note(assembly: Assembly, part: Part, frame: str, adds: float) -> str:
    mirror, units = part.mirror, assembly.scene.units
    assert mirror is not None
    there = image_of(assembly.poses[mirror.of], assembly.poses[frame], mirror.axis)
    off = float(np.linalg.norm(there.translation - assembly.poses[part.name].translation))
    elsewhere = f"; it then stands {length_words(off, units)} from here" if off > _TELLING else ""
    name, of = (assembly.scene.parts[one].family or one for one in (part.name, mirror.of))
    return (
        f"{name}: it is the mirror image of {of} across {'the car' if mirror.across == CAR else mirror.across}, so "
        f"what is not known of {frame} counts twice between the two, {_up_to(adds, units)} in all. If it is the "
        f"image across the middle of {frame}, write mirror_of: {{part: {of}, across: {frame}}}{elsewhere}"
    )


def _up_to(adds: float, units: str) -> str:
    return f"up to {length_words(ceil(adds - 1e-6) if units != 'in' else adds, units)}"
