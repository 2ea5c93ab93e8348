"""Which parts are in the car at a stage of the build: packers, slings and slave wheels go before the last check.

A part that is gone still holds up what was measured from it, so it stays as a frame, with its place and tolerance.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import get_args

from packcheck.scene.model import Frame, Part, Scene, Stage
from packcheck.tolerances import ABOUT_TOLERANCE

__all__ = ["gone_by", "without"]

_ORDER = {stage: place for place, stage in enumerate(get_args(Stage))}


def gone_by(scene: Scene) -> tuple[str, ...]:
    """The parts that are no longer in the car at the stage to be checked; none where no stage is stated."""
    if scene.stage is None:
        return ()
    now = _ORDER[scene.stage]
    return tuple(name for name, part in scene.parts.items() if _ORDER[part.stage] < now)


def without(scene: Scene, gone: Collection[str]) -> Scene:
    """The scene with the parts that are `gone` as frames; placed by `at` all of them, and no joint to them left."""
    if not gone:
        return scene
    frames = {name: _frame(part) for name, part in scene.parts.items() if name in gone}
    parts = {
        name: replace(part, bolted_to=tuple(other for other in part.bolted_to if other not in gone))
        for name, part in scene.parts.items()
        if name not in gone
    }
    return replace(scene, frames={**scene.frames, **frames}, parts=parts)


def _frame(part: Part) -> Frame:
    rough = part.fit == "about" and not any(part.tolerance)
    return Frame(
        part.name,
        part.parent,
        part.at,
        part.turn,
        (ABOUT_TOLERANCE,) * 3 if rough else part.tolerance,
        part.tolerance_is_ball or rough,
        part.note,
        part.mark,
        part.known,
        uncertainty=part.uncertainty,
    )
