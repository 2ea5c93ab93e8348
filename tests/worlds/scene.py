"""What stands in a scene? The tests' own reading of a canonical part of the grammar, from the manual alone.

Read are frames, parts (`box`, `cylinder`, `sphere`, `capsule`, `tube`, several `solids`), `in`, `at`, `turn` in
numbers, `anchor`, `wrap`, `fit`, `tolerance`, `known`, `uncertainty`, `faces` with coordinates and rests,
`mirror_of` with `across` or a `centreline`, `like`, `repeat`, and motions. Anything else that bears on a place or a
shape is refused, so that nothing is passed over in silence. Lengths mm, angles degrees.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import yaml

from tests.oracles.shapes import Array
from tests.worlds.copies import Tree, expanded
from tests.worlds.motions import Motion, motion_of
from tests.worlds.numbers import Axes, length, point, row, turn_of
from tests.worlds.pieces import Piece, extents, pieces_of

__all__ = ["Image", "Likely", "Node", "Rest", "Scene", "read"]

KNOWN = {"guess": 15.0, "tape": 3.0, "calliper": 0.5, "drawing": 1.0}
"""mm; the manual, "What you know about a part"."""

ABOUT = 15.0
"""mm; how far off a part of `fit: about` is that states nothing; the manual."""

FACES = {"front": "fore", "rear": "aft", "left": "left", "right": "right", "top": "up", "bottom": "down"}
RESTS = {
    ("bottom", "above"): "up",
    ("top", "below"): "down",
    ("right", "left_of"): "left",
    ("left", "right_of"): "right",
    ("rear", "ahead_of"): "fore",
    ("front", "behind"): "aft",
}
"""The way a part comes from, by its face and the word."""


@dataclass(frozen=True, slots=True, eq=False)
class Likely:
    """Standard uncertainties along the axes of what a node stands in: `shift` (3,) mm, `turn` (3,) radians."""

    shift: Array
    turn: Array


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """A part comes along -`way` (3,), its parent's axes, until it touches one of `on`; then goes `by` mm back."""

    way: Array
    on: tuple[str, ...]
    by: float


@dataclass(frozen=True, slots=True)
class Image:
    """The mirror image of `of` across frame `across`; `own` says that it states its own tolerance."""

    of: str
    across: str
    own: bool


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """A frame (`pieces` None) or part: `at` (3,) and `turn` (3, 3) in its parent, what of it is not known."""

    name: str
    parent: str
    at: Array
    turn: Array
    ball: float = 0.0
    box: Array | None = None
    likely: Likely | None = None
    pieces: tuple[Piece, ...] | None = None
    rest: Rest | None = None
    image: Image | None = None
    envelope: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Frames and parts by name, motions by name; `left` is the axis (0, 1, 2) from left to right."""

    nodes: Mapping[str, Node]
    motions: Mapping[str, Motion]
    left: int
    axes: Axes

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(name for name, node in self.nodes.items() if node.pieces is not None)

    def chain(self, name: str) -> list[str]:
        """A node and what it hangs on, innermost first, the car left out."""
        found = []
        while name in self.nodes:
            found.append(name)
            name = self.nodes[name].parent
        return found

    def carrying(self, name: str) -> tuple[str, ...]:
        """The motions that move a node, outermost first."""
        outward = [m for node in self.chain(name) for m, motion in self.motions.items() if node in motion.carries]
        return tuple(dict.fromkeys(reversed(outward)))

    def acts(self) -> list[tuple[str, ...]]:
        """Motions that act together."""
        together: dict[str, list[str]] = {}
        alone = []
        for name, motion in self.motions.items():
            if motion.together:
                together.setdefault(motion.during, []).append(name)
            else:
                alone.append((name,))
        return [*(tuple(names) for names in together.values()), *alone]


def read(source: str | Mapping[str, Any]) -> Scene:
    """The scene of a YAML text, or of the map that one holds. Raises ValueError for what is not understood."""
    tree: Tree = yaml.safe_load(source) if isinstance(source, str) else dict(source)
    known = {"packcheck", "title", "units", "axes", "list_within", "clearances", "known", "frames", "parts"}
    _only("scene", tree, known | {"motions", "note"})
    axes = Axes.of(tree.get("axes"), tree.get("units", "mm"))
    frames: Tree = tree.get("frames") or {}
    parts = expanded(tree.get("parts") or {}, axes)
    nodes = {name: _frame(name, dict(given or {}), axes) for name, given in frames.items()}
    centre = next((name for name, given in frames.items() if given and given.get("centreline")), "car")
    stated = _known(tree.get("known"), axes)
    nodes |= {name: _part(name, given, parts, centre, axes, stated) for name, given in parts.items()}
    motions = {name: motion_of(name, given, axes) for name, given in (tree.get("motions") or {}).items()}
    return Scene(nodes, motions, axes.left, axes)


def _known(given: Any, axes: Axes) -> dict[str, float]:
    """How far off each way of knowing is; "" for parts that state nothing."""
    if given is None:
        return {**KNOWN, "": 0.0}
    if isinstance(given, str):
        return {**KNOWN, "": KNOWN[given]}
    own = {**KNOWN, **{word: length(value, axes) for word, value in given.items() if word != "default"}}
    return {**own, "": own[given["default"]] if "default" in given else 0.0}


def _only(where: str, given: Mapping[str, Any], known: set[str]) -> None:
    if odd := set(given) - known:
        raise ValueError(f"{where}: not read by the tests: {sorted(odd)}")


def _frame(name: str, given: Tree, axes: Axes) -> Node:
    _only(name, given, {"in", "at", "turn", "tolerance", "known", "uncertainty", "centreline", "note"})
    ball, box = _hard(given, {**KNOWN, "": 0.0}, axes)
    at = point(given.get("at", [0, 0, 0]), axes)
    likely = _likely(given, axes)
    return Node(name, given.get("in", "car"), at, turn_of(given.get("turn")), ball, box, likely)


def _hard(given: Tree, known: Mapping[str, float], axes: Axes) -> tuple[float, Array | None]:
    """The ball, and the box of three numbers."""
    stated = given.get("tolerance")
    if isinstance(stated, list):
        return 0.0, np.array([length(value, axes) for value in stated])
    if stated is not None:
        return length(stated, axes), None
    ball = known[given.get("known", "")]
    return (max(ball, ABOUT) if given.get("fit") == "about" else ball), None


def _likely(given: Tree, axes: Axes) -> Likely | None:
    stated = given.get("uncertainty")
    if stated is None:
        return None
    _only("uncertainty", stated, {"standard", "limits", "turn_standard", "turn_limits"})
    root = np.sqrt(3.0)
    shift, turn = np.zeros(3), np.zeros(3)
    for key, share in (("standard", 1.0), ("limits", root)):
        if key in stated:
            shift = np.array([length(value, axes) for value in _three(stated[key])]) / share
        if f"turn_{key}" in stated:
            turn = np.radians([float(value) for value in _three(stated[f"turn_{key}"])]) / share
    return Likely(shift, turn)


def _three(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value] * 3


PART = {"in", "at", "turn", "anchor", "wrap", "fit", "tolerance", "known", "uncertainty", "faces", "mirror_of"}
PART |= {
    "kind",
    "bolted_to",
    "note",
    "fixed",
    "box",
    "cylinder",
    "sphere",
    "capsule",
    "tube",
    "solids",
    "goes_into",
}


def _part(name: str, own: Tree, parts: Tree, centre: str, axes: Axes, known: Mapping[str, float]) -> Node:
    _only(name, own, PART)
    image = _image(own, centre)
    given = own if image is None else {**_source(own, parts), **_stated(own)}
    pieces = pieces_of(given, axes)
    turn = turn_of(given.get("turn"))
    at, rest = _place(given, pieces, turn, axes)
    ball, box = _hard(given, known, axes)
    envelope = given.get("fit", "exact") != "exact"
    parent = given.get("in", "car") if image is None else _hung(given.get("in", "car"), parts)
    return Node(name, parent, at, turn, ball, box, _likely(given, axes), pieces, rest, image, envelope)


def _source(own: Tree, parts: Tree) -> Tree:
    """The keys of the part whose image this is."""
    mirrored = own["mirror_of"]
    source: Tree = parts[mirrored["part"] if isinstance(mirrored, dict) else mirrored]
    if "mirror_of" in source or "faces" in source:
        raise ValueError("images of images, or of what faces place, are not read by the tests")
    return source


def _stated(own: Tree) -> Tree:
    allowed = {"mirror_of", "kind", "note", "tolerance", "known", "uncertainty", "bolted_to"}
    _only("image", own, allowed)
    return {key: value for key, value in own.items() if key != "mirror_of"}


def _image(own: Tree, centre: str) -> Image | None:
    given = own.get("mirror_of")
    if given is None:
        return None
    stated = not {"tolerance", "known"}.isdisjoint(own)
    if isinstance(given, dict):
        return Image(given["part"], given.get("across", centre), stated)
    return Image(given, centre, stated)


def _hung(parent: str, parts: Tree) -> str:
    """What an image hangs on: the image of what its source hangs on, where there is one."""
    for name, given in parts.items():
        mirrored = given.get("mirror_of")
        if (mirrored["part"] if isinstance(mirrored, dict) else mirrored) == parent:
            return name
    return parent


def _place(given: Tree, pieces: Sequence[Piece], turn: Array, axes: Axes) -> tuple[Array, Rest | None]:
    """Where the own zero stands in the parent; along the way of a rest, anywhere."""
    if "faces" not in given:
        return point(given.get("at", [0, 0, 0]), axes), None
    low, high = extents(pieces, turn)
    at, rest = -(low + high) / 2, None
    for face, value in given["faces"].items():
        out = axes.ways[FACES[face]]
        axis = int(np.argmax(np.abs(out)))
        if isinstance(value, dict):
            rest = _rest(face, value, axes)
            at[axis] = 0.0
        else:
            at[axis] = row(value, axis, axes) - (high if out[axis] > 0 else low)[axis]
    return at + point(given.get("at", [0, 0, 0]), axes), rest


def _rest(face: str, given: Tree, axes: Axes) -> Rest:
    (word,) = set(given) - {"by"}
    on = given[word]
    names = tuple(on) if isinstance(on, list) else (on,)
    return Rest(axes.ways[RESTS[face, word]], names, length(given.get("by", 0), axes))
