"""In which roles can a source of doubt bear on a gap? Where it occurs in the two chains, and what is between.

A role is the kind of a source, the set of its occurrences, and the step between the first and the last of them:

    part         in what one part hangs on, itself among it; `turned back` where a motion is drawn open outside it
    other        in what the other part hangs on
    line         in the frame of a line that moves the part; `outer line` where another moves it further in;
                 `placed_at` where the motion is drawn open there
    across       in what a mirror frame hangs on; `mirrored`: in what the source of an image hangs on
    rest         in what the part rests on; with `line` the rail's own line
    bearer       the surface of a part on which the other hangs
    copy         a source of an image or of another copy, of its own

The part is the one of the two that is moved, mirrored or rests, if only one is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from tests.worlds.scene import Scene

__all__ = ["Role", "Step", "occurrences", "roles_of", "table"]

Source: TypeAlias = tuple[str, str]


@dataclass(frozen=True, slots=True, order=True)
class Role:
    """The kind of a source ("frame ball", "part box", ...), where it occurs, and the step between."""

    kind: str
    where: tuple[str, ...]
    step: str

    def __str__(self) -> str:
        return f"{self.kind}: {' + '.join(self.where)}, {self.step}"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a chain: the place of a `node` with its tags, or something that is done (`turning`, ...)."""

    node: str = ""
    tags: frozenset[str] = frozenset()
    does: str = ""
    backwards: bool = False


def _stand(scene: Scene, name: str, tags: frozenset[str], plain: bool = False) -> Iterator[Step]:
    node = scene.nodes.get(name)
    if node is None:
        return
    if node.image is not None:
        across = list(_stand(scene, node.image.across, tags - {"part"} | {"across"}))
        yield from across
        yield Step(does="mirror", node=node.image.across)
        yield from _turned(across)
        yield from _stand(scene, node.image.of, tags - {"part"} | {"mirrored"}, plain=True)
    else:
        yield from _stand(scene, node.parent, tags)
        if node.rest is not None:
            for other in node.rest.on:
                yield from _stand(scene, other, tags - {"part"} | {"rest"})
            yield Step(does="rest", node=name)
    if not plain:
        yield Step(name, tags)


def _turned(steps: list[Step]) -> list[Step]:
    return [Step(s.node, s.tags, s.does, not s.backwards) for s in reversed(steps)]


def chain(scene: Scene, name: str, motions: tuple[str, ...]) -> list[Step]:
    """The steps from the car to a part, outermost first."""
    carrying = [m for m in scene.carrying(name) if m in motions or scene.motions[m].placed_at]
    found: list[Step] = []
    for place, motion in enumerate(carrying):
        drawn = scene.motions[motion]
        tag = "outer line" if place < len(carrying) - 1 else "line"
        tags = frozenset({"placed_at" if drawn.placed_at else tag})
        line = list(_stand(scene, drawn.frame, tags))
        if drawn.kind == "path" and drawn.through is None:
            line += list(_stand(scene, drawn.carries[0], tags))
        joint = Step(does="turning" if drawn.turns else "shifting", node=motion)
        found += [*line, joint, *_turned(line)]
    back = any(scene.motions[m].placed_at for m in carrying)
    return [*found, *_stand(scene, name, frozenset({"part", "turned back"} if back else {"part"}))]


def occurrences(scene: Scene, a: str, b: str, motions: tuple[str, ...]) -> tuple[list[Step], int]:
    """The chain from A to B through the car, without what both share, and how many steps of it are A's."""
    first, second = chain(scene, a, motions), chain(scene, b, motions)
    while first and second and first[0] == second[0]:
        del first[0], second[0]
    return [*reversed(first), *second], len(first)


def roles_of(scene: Scene, a: str, b: str, motions: tuple[str, ...] = ()) -> dict[Source, Role]:
    """The role of every source that bears on the gap of two parts."""
    steps, mine = occurrences(scene, a, b, motions)
    found: dict[Source, Role] = {}
    for node in dict.fromkeys(step.node for step in steps if not step.does):
        places = [k for k, step in enumerate(steps) if not step.does and step.node == node]
        where = _where(steps, mine, places)
        between = _between(steps, places, where)
        what = scene.nodes[node]
        whose = "frame" if what.pieces is None else "part"
        for kind, there in (("ball", what.ball > 0), ("box", what.box is not None), ("likely", what.likely)):
            if there:
                found[node, kind] = Role(f"{whose} {kind}", where, between)
    for name in (a, b, *_rested_on(scene, a), *_rested_on(scene, b)):
        if scene.nodes[name].ball > 0:
            found[name, "shape"] = Role(
                "shape", _surface(scene, name, a, b), "nothing" if name in (a, b) else "rest"
            )
    return found


def _rested_on(scene: Scene, name: str) -> tuple[str, ...]:
    rest = scene.nodes[name].rest
    return () if rest is None else rest.on


def _surface(scene: Scene, name: str, a: str, b: str) -> tuple[str, ...]:
    """Where the surface of a part counts."""
    if name not in (a, b):
        return ("rest",)
    other = b if name == a else a
    if name in scene.chain(other):
        return ("bearer",)
    return ("copy",) if scene.nodes[name].image is not None else ("part",)


def _where(steps: list[Step], mine: int, places: list[int]) -> tuple[str, ...]:
    """The tags, from the side of the part that is moved, mirrored or rests."""
    sides = [
        frozenset(tag for k in places if (k < mine) == first for tag in steps[k].tags) for first in (True, False)
    ]
    special = [bool(side - {"part", "turned back"}) for side in sides]
    swapped = (special[1] and not special[0]) or not sides[0]
    part, other = (sides[1], sides[0]) if swapped else (sides[0], sides[1])
    return tuple(sorted(part | {"other" if tag == "part" else f"other {tag}" for tag in other}))


def _between(steps: list[Step], places: list[int], where: tuple[str, ...]) -> str:
    """The step that counts most between the first occurrence and the last."""
    done = {step.does for step in steps[places[0] : places[-1]]}
    for does in ("mirror", "rest", "turning", "shifting"):
        if does in done:
            return does
    tags = {word for tag in where for word in tag.split()}
    return "rest" if "rest" in tags else "mirror" if {"mirrored", "across"} & tags else "nothing"


def table() -> list[Role]:
    """Every role that must be met."""
    places = ("frame ball", "part ball", "frame box", "part box")
    roles = []
    for where, step in PLACES:
        kinds = places if step != "shifting" else ("frame ball", "part ball")
        roles += [Role(kind, tuple(sorted(where.split(" + "))), step) for kind in kinds]
    roles += [Role("shape", (where,), "rest" if where == "rest" else "nothing") for where in SURFACES]
    return roles


PLACES: tuple[tuple[str, str], ...] = (
    ("part", "nothing"),
    ("part + other", "turning"),
    ("part + other", "shifting"),
    ("line", "turning"),
    ("line", "shifting"),
    ("part + line", "turning"),
    ("other + line", "turning"),
    ("outer line", "turning"),
    ("outer line + line", "turning"),
    ("outer line + line + part", "turning"),
    ("other + outer line", "turning"),
    ("across", "mirror"),
    ("mirrored", "mirror"),
    ("mirrored + other", "mirror"),
    ("across + mirrored", "mirror"),
    ("across + other", "mirror"),
    ("rest", "rest"),
    ("rest + other", "rest"),
    ("part + rest", "rest"),
    ("line + rest", "turning"),
    ("placed_at", "turning"),
    ("part + turned back", "nothing"),
    ("line + across", "mirror"),
    ("line + mirrored", "turning"),
)
SURFACES = ("part", "bearer", "rest", "copy")
