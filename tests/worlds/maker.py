"""What are random scenes made of? Parts, carriers, motions and rests, drawn at random.

A scene is a map as YAML has it. What bears the doubt is a *carrier*: a frame or a part, with one number, three
numbers or an uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np

from tests.worlds.evaluate import Drawn
from tests.worlds.scene import read

__all__ = ["Maker", "Tree", "resting"]

Tree: TypeAlias = dict[str, Any]


@dataclass(slots=True, eq=False)
class Maker:
    """A scene in the making; `kind` is that of its carriers."""

    rng: np.random.Generator
    kind: str
    frames: Tree = field(default_factory=dict)
    parts: Tree = field(default_factory=dict)
    motions: Tree = field(default_factory=dict)

    @property
    def tree(self) -> Tree:
        scene = {"packcheck": 1, "clearances": {"use": "none", "default": "10 m"}, "list_within": "20 m"}
        found: Tree = {**scene, "frames": self.frames, "parts": self.parts, "motions": self.motions}
        return {key: value for key, value in found.items() if value}

    def spot(self, size: float = 150.0) -> list[float]:
        return [round(float(v), 1) for v in self.rng.uniform(-size, size, 3)]

    def turn(self) -> list[float]:
        """Half of them square, some aslant."""
        if self.rng.random() < 0.5:
            return [0.0, 0.0, 0.0]
        return [round(float(v), 1) for v in self.rng.uniform(-40, 40, 3)]

    def doubt(self, kind: str | None = None) -> Tree:
        """The key that says how far off something is."""
        number = round(float(self.rng.uniform(0.5, 8)), 2)
        match (kind or self.kind).split()[1]:
            case "ball":
                return {"tolerance": number}
            case "box":
                values = [round(float(v), 2) for v in self.rng.uniform(0.5, 8, 3)]
                if self.rng.random() < 0.4:
                    values[int(self.rng.integers(3))] = 0.0
                return {"tolerance": values}
        turns = [round(float(v), 2) for v in self.rng.uniform(0, 0.4, 3)]
        return {"uncertainty": {"standard": round(number / 3, 2), "turn_standard": turns}}

    def carrier(self, name: str, **place: Any) -> str:
        """A frame or part whose place is not known, out of the way."""
        given = {"at": self.spot(60), "turn": self.turn(), **place, **self.doubt()}
        if self.kind.startswith("frame"):
            self.frames[name] = given
        else:
            self.parts[name] = {**given, "box": [12, 14, 10]}
        return name

    def shape(self) -> Tree:
        size = [round(float(v), 1) for v in self.rng.uniform(10, 70, 3)]
        match int(self.rng.integers(8)):
            case 0:
                return {"cylinder": {"diameter": size[0], "length": size[1], "along": self.letter()}}
            case 1:
                return {"sphere": {"diameter": size[0]}}
            case 2:
                return {"capsule": {"diameter": size[0], "length": size[0] + size[1], "along": self.letter()}}
            case 3:
                low = {"box": [size[0], size[1], 12]}
                return {"solids": [low, {"box": [10, size[1], size[2]], "at": [size[0] / 2, 0, size[2] / 2]}]}
        return {"box": size}

    def letter(self) -> str:
        return str(self.rng.choice(["x", "y", "z"]))

    def part(self, name: str, **given: Any) -> str:
        place = {} if {"at", "faces"} & set(given) else {"at": self.spot()}
        self.parts[name] = {**place, "turn": self.turn(), **self.shape(), **given}
        return name

    def moving(
        self, name: str, carries: str, where: str | None, *, turning: bool = True, plain: bool = False, **more: Any
    ) -> str:
        """A motion whose line is given in `where`; two `plain` ones at once, hinges, are soon searched."""
        given: Tree = {"carries": [carries], **({"in": where} if where else {}), **more}
        point, axis = self.spot(80), self.letter()
        ends = {"from": 0, "to": round(float(self.rng.uniform(20, 170)), 1)}
        if not turning:
            given["travel"] = {"by": axis, "from": 0, "to": round(float(self.rng.uniform(40, 150)), 1)}
        else:
            match 5 if plain else int(self.rng.integers(6)):
                case 0:
                    given["full_turn"] = {"through": point, "axis": axis}
                case 1:
                    given["rock"] = {"about": point, "turn": {"x": [-8, 6], "z": [-5, 9]}, "shift": {"y": [-4, 6]}}
                case 2:
                    stops = [{"at": [0, 0, 0]}, {"at": self.spot(40)}, {"at": self.spot(40), "turn": [0, 0, 70]}]
                    given |= {"about": point, "path": stops}
                case _:
                    given["hinge"] = {"through": point, "axis": axis, **ends}
        self.motions[name] = given
        return name


WAYS = (
    ("bottom", "above", "z"),
    ("top", "below", "z"),
    ("right", "left_of", "y"),
    ("left", "right_of", "y"),
    ("rear", "ahead_of", "x"),
    ("front", "behind", "x"),
)
ACROSS = {"x": ("fore", "aft", "front"), "y": ("left", "right", "left"), "z": ("down", "up", "bottom")}
"""The words of less and more along an axis, and the face that is the least there."""


def resting(m: Maker, name: str, on: str, **given: Any) -> str:
    """Over the middle of what it rests on, or a little off it."""
    face, word, axis = WAYS[int(m.rng.integers(6))]
    middle = Drawn(read(m.tree)).stand(on).translation
    if "in" in given:
        stand = Drawn(read(m.tree)).stand(given["in"])
        middle = stand.rotation.T @ (middle - stand.translation)
    rest: Tree = {word: on, **({"by": round(float(m.rng.uniform(0, 9)), 1)} if m.rng.random() < 0.4 else {})}
    faces: Tree = {face: rest}
    for letter, where in zip("xyz", middle, strict=True):
        if letter != axis:
            less, more, near = ACROSS[letter]
            at = round(float(where + m.rng.uniform(-25, 5)), 1)
            faces[near] = f"{abs(at)} {less if at < 0 else more}"
    return m.part(name, faces=faces, **given)
