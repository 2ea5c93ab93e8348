"""Which parts are in the car at a stage of the build: packers, slings and slave wheels go before the last check.

A part that is gone still holds up what was measured from it, so it stays as a frame, with its place and tolerance.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from typing import get_args

from packcheck.scene.model.features import Feature, Line, Plane, Spot
from packcheck.scene.model.scene import Frame, Part, Scene, Stage
from packcheck.tolerances import ABOUT_TOLERANCE

__all__ = ["gone_by", "unasked", "without"]

_ORDER = {stage: place for place, stage in enumerate(get_args(Stage))}


def gone_by(scene: Scene) -> tuple[str, ...]:
    """The parts that are no longer in the car at the stage to be checked; none where no stage is stated."""
    if scene.stage is None:
        return ()
    now = _ORDER[scene.stage]
    return tuple(name for name, part in scene.parts.items() if _ORDER[part.stage] < now)


def unasked(scene: Scene, gone: Collection[str]) -> tuple[str, ...]:
    """The measures that are taken from parts that are `gone`, and so are not asked."""
    return tuple(m.name for m in scene.measures if any(node in gone for f in m.features for node in _nodes(f)))


def without(scene: Scene, gone: Collection[str]) -> Scene:
    """The scene with the parts that are `gone` as frames, and without what asks for them: joints and measures.

    All of them are placed by `at`.
    """
    if not gone:
        return scene
    frames = {name: _frame(part) for name, part in scene.parts.items() if name in gone}
    parts = {
        name: replace(part, bolted_to=_left(part.bolted_to, gone), goes_into=_left(part.goes_into, gone))
        for name, part in scene.parts.items()
        if name not in gone
    }
    dropped = unasked(scene, gone)
    measures = tuple(measure for measure in scene.measures if measure.name not in dropped)
    return replace(scene, frames={**scene.frames, **frames}, parts=parts, measures=measures)


def _left(names: Iterable[str], gone: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in gone)


def _nodes(feature: Feature) -> Iterator[str]:
    match feature:
        case Spot():
            yield feature.node
        case Plane():
            yield feature.spot.node
        case Line():
            yield from (spot.node for spot in (feature.start, feature.end) if spot)


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
