"""From the understood grammar to the frozen `Scene`; nothing can go wrong here any more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final, TypeAlias

from packcheck.errors import SourceMark
from packcheck.scene.checks.holding_links import held_of
from packcheck.scene.document.document import Copy, RawScene
from packcheck.scene.document.faults import Loc, spot_at
from packcheck.scene.expand.images import mirror_of
from packcheck.scene.grammar import grammar, moving
from packcheck.scene.grammar.knowing import Spread, known_tolerances, tolerance_of
from packcheck.scene.grammar.measuring import measures_of
from packcheck.scene.grammar.sides import lining_of, needs_of
from packcheck.scene.grammar.sureness import uncertainty_of
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import FACES, Ways, axis_of
from packcheck.scene.model.features import Measure
from packcheck.scene.model.motion import Motion
from packcheck.scene.quantities.placement import turn_of
from packcheck.scene.solids.ended import turn_along
from packcheck.scene.solids.shapes import OWN_ZERO, Solid, ends_of, shape_of

__all__ = ["made"]

NO_TURN: Final = (0.0, 0.0, 0.0)


def made(raw: RawScene, file: grammar.SceneFile, params: Mapping[str, float]) -> model.Scene:
    """The scene; `params` are the values, in mm, degrees or plain."""
    ways: Ways = {"x": file.axes.x, "y": file.axes.y, "z": file.axes.z}
    known, members = known_tolerances(file.known), _members(file)
    return model.Scene(
        path=raw.path,
        title=file.title,
        units=file.units,
        axes=model.Axes(file.axes.x, file.axes.y, file.axes.z),
        list_within=file.list_within,
        params=dict(params),
        frames={name: _frame(name, frame, ways, raw, known) for name, frame in file.frames.items()},
        parts={
            name: _holding(_part(name, part, ways, raw, known, file.known.default), part, file.motions)
            for name, part in file.parts.items()
            if not part.template
        },
        clearances=_clearances(file.clearances, raw),
        stage=file.stage,
        known=known,
        note=file.note,
        files=raw.files,
        digests=raw.digests,
        wheels=_wheels(file),
        measures=_measures(file, raw),
        motions={name: _motion(name, file, members, raw) for name in file.motions},
    )


def _members(file: grammar.SceneFile) -> dict[str, list[str]]:
    """What a name stands for that a motion carries: a frame or part for itself, a kind for every part of it."""
    members: dict[str, list[str]] = {}
    for name, part in file.parts.items():
        for kind in part.kind:
            members.setdefault(kind, []).append(name)
    return members | {name: [name] for name in (*file.frames, *file.parts)}


def _motion(name: str, file: grammar.SceneFile, members: Mapping[str, Sequence[str]], raw: RawScene) -> Motion:
    motion = file.motions[name]
    carried = [node for named in motion.carries for node in members.get(named, ())]
    return Motion(
        name=name,
        carries=tuple(dict.fromkeys(carried)),
        movement=motion.movement(),
        frame=motion.in_,
        during=motion.state,
        together=motion.joins,
        placed_at=motion.placed_at,
        held=held_of(motion.with_, file.motions),
        note=motion.note,
        mark=_mark(raw, "motions", name),
    )


def _measures(file: grammar.SceneFile, raw: RawScene) -> tuple[Measure, ...]:
    marked = ((name, measure, _mark(raw, "measures", name)) for name, measure in file.measures.items())
    return tuple(made for name, measure, mark in marked for made in measures_of(name, measure, mark))


def _wheels(file: grammar.SceneFile) -> model.Wheels | None:
    wheels = file.wheels
    if wheels is None:
        return None
    return model.Wheels(wheels.front_left, wheels.front_right, wheels.rear_left, wheels.rear_right)


def _mark(raw: RawScene, *loc: str | int) -> SourceMark:
    """Where the key at `loc` stands, or the value in a list."""
    spot = spot_at(raw.tree, loc)
    return spot.key_mark or spot.mark


_Known: TypeAlias = Mapping[model.Known, float]


def _frame(name: str, frame: grammar.Frame, ways: Ways, raw: RawScene, known: _Known) -> model.Frame:
    return model.Frame(
        name=name,
        parent=frame.in_,
        at=frame.at,
        turn=turn_of(frame.turn, ways),
        tolerance=tolerance_of(_stated(frame), frame.known, "exact", known),
        tolerance_is_ball=frame.tolerance.each is None,
        note=frame.note,
        mark=_mark(raw, "frames", name),
        known=frame.known,
        centreline=frame.centreline,
        datum=frame.datum,
        uncertainty=uncertainty_of(frame.uncertainty),
    )


def _part(
    name: str, part: grammar.Part, ways: Ways, raw: RawScene, known: _Known, default: model.Known | None
) -> model.Part:
    stated = _stated(part)
    way = default if part.known is None and stated is None else part.known
    at, turn = _place(part, ways)
    copy = raw.copies.get(name, Copy("", 0, frozenset()))
    mirror = mirror_of(part, copy, ways, raw)
    return model.Part(
        name=name,
        solids=_solids(name, part, ways, raw, lining_of(part, part, ways, mirror)),
        kinds=tuple(dict.fromkeys(part.kind)),
        parent=part.in_,
        at=_stepped(at, part, copy),
        turn=NO_TURN if ends_of(part) else turn,
        wrap=part.wrap,
        tolerance=tolerance_of(stated, way, part.fit, known),
        tolerance_is_ball=part.tolerance.each is None,
        fit=part.fit,
        fixed=part.fixed,
        bolted_to=tuple(dict.fromkeys(part.bolted_to)),
        goes_into=tuple(dict.fromkeys(part.goes_into)),
        placed=_is_placed(part) or part.mirror_of is not None,
        note=part.note,
        mark=_mark(raw, "parts", name),
        faces=_faces(name, part, ways, raw),
        mass=part.mass,
        material=part.material,
        wall=part.wall,
        known=way,
        stage=part.stage,
        family=copy.family,
        mirror=mirror,
        needs=needs_of(part, part, ways, mirror),
        uncertainty=uncertainty_of(part.uncertainty),
        stated=stated is not None or way is not None or part.uncertainty is not None,
    )


def _holding(made: model.Part, part: grammar.Part, motions: Mapping[str, moving.Motion]) -> model.Part:
    """The part; if it is room, or needs some, with what is held at a setting while that is used."""
    air = held_of(part.needs.with_ if part.needs else None, motions)
    needs = tuple(replace(need, held=air) for need in made.needs)
    return replace(made, held=held_of(part.with_, motions), needs=needs)


def _stated(node: grammar.Frame | grammar.Part) -> Spread | None:
    return node.tolerance if "tolerance" in node.model_fields_set else None


def _stepped(at: model.Triple, part: grammar.Part, copy: Copy) -> model.Triple:
    if part.repeat is None:
        return at
    x, y, z = (a + copy.index * step for a, step in zip(at, part.repeat.step, strict=True))
    return x, y, z


def _is_placed(part: grammar.Part) -> bool:
    """Whether the file says where the part is: by `at`, faces or ends, or by coordinates of its solids."""
    if part.solids is not None or part.faces is not None or ends_of(part):
        return True
    return "at" in part.model_fields_set or shape_of(part)[0] in OWN_ZERO


def _place(solid: Solid, ways: Ways) -> tuple[model.Triple, model.Triple]:
    """Where the anchor of a solid stands, and its turn."""
    ends = ends_of(solid)
    return (ends[0], turn_along(ends, ways)) if ends else (solid.at, turn_of(solid.turn, ways))


def _faces(name: str, part: grammar.Part, ways: Ways, raw: RawScene) -> tuple[model.Face, ...]:
    """The faces that place a part, in the order of the file's axes, what looks up an axis last."""
    if part.faces is None:
        return ()
    rests = {face: (rest.by, rest.on) for face, rest in part.faces.resting().items()}
    nothing: tuple[str, ...] = ()
    loc: Loc = ("parts", name, "faces")
    given = {face: (at, nothing) for face, at in part.faces.given().items()} | rests
    made = [
        model.Face(face, *axis_of(ways, FACES[face]), at, _mark(raw, *loc, face), on)
        for face, (at, on) in given.items()
    ]
    made += [
        model.Face("middle", axis_of(ways, middle.way).axis, 0, middle.at, _mark(raw, *loc, "middle", place))
        for place, middle in enumerate(part.faces.middles())
    ]
    return tuple(sorted(made, key=lambda face: (face.axis, face.sign)))


def _solids(
    name: str, part: grammar.Part, ways: Ways, raw: RawScene, lining: model.Lining | None
) -> tuple[model.SolidSpec, ...]:
    """A single solid is placed by the part's own `at` and `turn`; several stand in the part's own frame.

    A single solid with two ends turns within its part, whose own frame stands unturned at the first end.
    """
    loc: Loc = ("parts", name)
    if part.solids is None:
        key, shape, anchor = shape_of(part)
        turn = _place(part, ways)[1] if ends_of(part) else NO_TURN
        return (model.SolidSpec(shape, anchor, turn=turn, mark=_mark(raw, *loc, key), lining=lining),)
    specs = []
    for place, solid in enumerate(part.solids):
        key, shape, anchor = shape_of(solid)
        specs.append(model.SolidSpec(shape, anchor, *_place(solid, ways), _mark(raw, *loc, "solids", place, key)))
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
