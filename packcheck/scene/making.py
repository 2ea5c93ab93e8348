"""From the understood grammar to the frozen `Scene`; nothing can go wrong here any more."""

from __future__ import annotations

from collections.abc import Mapping

from packcheck.errors import SourceMark
from packcheck.scene import grammar, model
from packcheck.scene.document import RawScene
from packcheck.scene.faults import Loc, spot_at
from packcheck.scene.shapes import OWN_ZERO, shape_of

__all__ = ["made"]


def made(raw: RawScene, file: grammar.SceneFile, params: Mapping[str, float]) -> model.Scene:
    """The scene; `params` are the values, in mm, degrees or plain."""
    return model.Scene(
        path=raw.path,
        title=file.title,
        units=file.units,
        axes=model.Axes(file.axes.x, file.axes.y, file.axes.z),
        list_within=file.list_within,
        params=dict(params),
        frames={name: _frame(name, frame, raw) for name, frame in file.frames.items()},
        parts={name: _part(name, part, raw) for name, part in file.parts.items()},
        clearances=_clearances(file.clearances, raw),
        note=file.note,
        files=raw.files,
    )


def _mark(raw: RawScene, *loc: str | int) -> SourceMark:
    """Where the key at `loc` stands, or the value in a list."""
    spot = spot_at(raw.tree, loc)
    return spot.key_mark or spot.mark


def _frame(name: str, frame: grammar.Frame, raw: RawScene) -> model.Frame:
    return model.Frame(
        name=name,
        parent=frame.in_,
        at=frame.at,
        turn=frame.turn,
        tolerance=frame.tolerance.triple,
        tolerance_is_ball=frame.tolerance.each is None,
        note=frame.note,
        mark=_mark(raw, "frames", name),
    )


def _part(name: str, part: grammar.Part, raw: RawScene) -> model.Part:
    return model.Part(
        name=name,
        solids=_solids(name, part, raw),
        kinds=tuple(dict.fromkeys(part.kind)),
        parent=part.in_,
        at=part.at,
        turn=part.turn,
        wrap=part.wrap,
        tolerance=part.tolerance.triple,
        tolerance_is_ball=part.tolerance.each is None,
        fit=part.fit,
        fixed=part.fixed,
        bolted_to=tuple(dict.fromkeys(part.bolted_to)),
        placed=_is_placed(part),
        note=part.note,
        mark=_mark(raw, "parts", name),
    )


def _is_placed(part: grammar.Part) -> bool:
    """Whether the file says where the part is: by its `at`, or by coordinates of the solids themselves."""
    return "at" in part.model_fields_set or part.solids is not None or shape_of(part)[0] in OWN_ZERO


def _solids(name: str, part: grammar.Part, raw: RawScene) -> tuple[model.SolidSpec, ...]:
    """A single solid is placed by the part's own `at` and `turn`; several stand in the part's own frame."""
    loc: Loc = ("parts", name)
    if part.solids is None:
        key, shape, anchor = shape_of(part)
        return (model.SolidSpec(shape, anchor, mark=_mark(raw, *loc, key)),)
    specs = []
    for place, solid in enumerate(part.solids):
        key, shape, anchor = shape_of(solid)
        specs.append(model.SolidSpec(shape, anchor, solid.at, solid.turn, _mark(raw, *loc, "solids", place, key)))
    return tuple(specs)


def _clearances(clearances: grammar.Clearances, raw: RawScene) -> model.Clearances:
    return model.Clearances(
        default=clearances.default,
        use=clearances.use,
        seat=clearances.seat,
        rules=tuple(_rule(place, rule, raw) for place, rule in enumerate(clearances.rules)),
        default_mark=None if clearances.default is None else _mark(raw, "clearances", "default"),
    )


def _rule(place: int, rule: grammar.Rule, raw: RawScene) -> model.Rule:
    return model.Rule(
        between=rule.between,
        must=rule.gap.must,
        want=rule.gap.want,
        moving=rule.moving,
        lower=rule.lower,
        why=rule.why,
        source=rule.source,
        mark=_mark(raw, "clearances", "rules", place),
    )
