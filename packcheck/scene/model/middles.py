"""Where is the middle of a part along its axis, and does the file have to say it?"""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.errors import Fault
from packcheck.scene.model.features import PULLEYS, Line
from packcheck.scene.model.scene import Mesh, Part, Scene

__all__ = ["has_own_middle", "mid_plane_faults"]

_WHY = "a hub or a nose counts in half its length, so that its middle is not that of the groove"
_MEND = "write at: the middle of its groove, from the part's own zero"


def has_own_middle(part: Part) -> bool:
    """Whether the part is one plain shape, so that its axis runs through the middle of its box."""
    return len(part.solids) == 1 and not isinstance(part.solids[0].shape, Mesh)


def mid_plane_faults(scene: Scene) -> Iterator[Fault]:
    """Pulleys of several solids or out of a file, with no word where along the axis their groove lies."""
    for measure in {measure.mark: measure for measure in scene.measures if measure.sort in PULLEYS}.values():
        for key, line in zip("ab", measure.features, strict=True):
            part = scene.parts.get(line.start.node) if isinstance(line, Line) and line.centred else None
            if part is not None and not has_own_middle(part):
                what = f"has no at, and {part.name!r} is no single plain shape"
                yield Fault(measure.mark, f"measure {measure.name!r}: pulleys.{key} {what}", _WHY, _MEND)
