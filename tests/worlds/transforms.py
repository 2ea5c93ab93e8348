"""The same scene told in another way: nothing that is found of it may change.

Of scenes as `generate` makes them: lengths are bare numbers in mm, or have a direction word behind them.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

__all__ = ["in_frame", "in_inches", "mirrored", "reordered", "split", "with_bystander"]

Tree: TypeAlias = dict[str, Any]

SWAP = {"left": "right", "right": "left", "left_of": "right_of", "right_of": "left_of"}
LETTERS = {"x": [1.0, 0.0, 0.0], "y": [0.0, 1.0, 0.0], "z": [0.0, 0.0, 1.0]}


def reordered(tree: Tree, rng: np.random.Generator) -> Tree:
    """Frames, parts and motions in another order."""
    found = dict(tree)
    for key in ("frames", "parts", "motions"):
        if key in tree:
            names = list(tree[key])
            rng.shuffle(names)
            found[key] = {name: tree[key][name] for name in names}
    return found


def with_bystander(tree: Tree) -> Tree:
    """With a part far off that nothing touches, as unsure as can be."""
    bystander = {"at": [2500, 2500, 2500], "box": [40, 40, 40], "tolerance": 12}
    return {**tree, "parts": {"bystander": bystander, **tree["parts"]}}


def in_frame(tree: Tree, at: list[float], turn: list[float]) -> Tree:
    """All of it in one exact frame, put somewhere."""

    def hung(given: Tree) -> Tree:
        return given if "mirror_of" in given else {"in": "whole", **given}

    frames = {name: hung(given) for name, given in tree.get("frames", {}).items()}
    parts = {name: hung(given) for name, given in tree["parts"].items()}
    motions = {name: {"in": "whole", **given} for name, given in tree.get("motions", {}).items()}
    whole = {"whole": {"at": at, "turn": turn}, **frames}
    return {**tree, "frames": whole, "parts": parts, **({"motions": motions} if motions else {})}


def split(tree: Tree) -> tuple[Tree, Tree]:
    """The scene without its frames and every second part, and the file that holds those."""
    names = list(tree["parts"])
    kept, moved = names[::2], names[1::2]
    below: Tree = {"packcheck": 1, "parts": {name: tree["parts"][name] for name in moved}}
    if "frames" in tree:
        below["frames"] = tree["frames"]
    above = {key: value for key, value in tree.items() if key != "frames"}
    return {**above, "include": ["below.yaml"], "parts": {name: tree["parts"][name] for name in kept}}, below


ANGLES = {"turn", "turn_standard", "turn_limits", "axis", "packcheck", "count"}
"""Keys below which no lengths stand."""


def in_inches(tree: Tree) -> Tree:
    """The same lengths in inches."""
    kept = {key: tree[key] for key in ("packcheck", "clearances", "list_within")}
    rest = {key: _inches(value, key) for key, value in tree.items() if key not in kept}
    return {**kept, "units": "in", **rest}


def _inches(value: Any, key: str) -> Any:
    if key in ANGLES or isinstance(value, bool):
        return value
    if isinstance(value, dict):
        angles = {"from", "to", "placed_at"} if key == "hinge" else set()
        return {name: below if name in angles else _inches(below, name) for name, below in value.items()}
    if isinstance(value, list):
        return [_inches(below, "") for below in value]
    if isinstance(value, int | float):
        return value / 25.4
    number, _, word = str(value).partition(" ")
    return f"{float(number) / 25.4!r} {word}" if word in (*SWAP, "up", "down", "fore", "aft") else value


def mirrored(tree: Tree) -> Tree:
    """All of it reflected from left to right (y, as the axes are without a word)."""
    frames = {name: _flipped(given) for name, given in tree.get("frames", {}).items()}
    parts = {name: _flipped(given) for name, given in tree["parts"].items()}
    motions = {name: _moving(given) for name, given in tree.get("motions", {}).items()}
    found = {**tree, "parts": parts}
    return found | {key: value for key, value in (("frames", frames), ("motions", motions)) if value}


def _flipped(given: Tree) -> Tree:
    found = dict(given)
    for key in ("at", "turn", "faces", "solids"):
        if key in given:
            found[key] = FLIPS[key](given[key])
    return found


def _point(at: list[float]) -> list[float]:
    return [at[0], -at[1], at[2]]


def _turn(turn: list[float]) -> list[float]:
    """A turn about x or z goes the other way round; in what order they are done stays."""
    return [-turn[0], turn[1], -turn[2]]


def _faces(faces: Tree) -> Tree:
    found = {}
    for face, value in faces.items():
        if isinstance(value, dict):
            told: Any = {SWAP.get(word, word): on for word, on in value.items()}
        else:
            number, _, word = str(value).partition(" ")
            told = f"{number} {SWAP.get(word, word)}"
        found[SWAP.get(face, face)] = told
    return found


FLIPS: dict[str, Any] = {
    "at": _point,
    "turn": _turn,
    "faces": _faces,
    "solids": lambda solids: [_flipped(solid) for solid in solids],
}


def _moving(given: Tree) -> Tree:
    found = {key: value for key, value in given.items() if key not in ("about", "path")}
    for key in ("hinge", "full_turn"):
        if key in given:
            x, y, z = LETTERS[given[key]["axis"]]
            found[key] = {**given[key], "through": _point(given[key]["through"]), "axis": [-x, y, -z]}
    if "travel" in given:
        found["travel"] = {**given["travel"], "by": _point(LETTERS[given["travel"]["by"]])}
    if "rock" in given:
        found["rock"] = _rock(given["rock"])
    if "path" in given:
        found["path"] = [_flipped(stop) for stop in given["path"]]
        found["about"] = _point(given["about"])
    return found


def _rock(rock: Tree) -> Tree:
    def back(ends: list[float]) -> list[float]:
        return [-ends[1], -ends[0]]

    turn = {axis: ends if axis == "y" else back(ends) for axis, ends in rock["turn"].items()}
    shift = {axis: back(ends) if axis == "y" else ends for axis, ends in rock["shift"].items()}
    return {"about": _point(rock["about"]), "turn": turn, "shift": shift}
