"""For each kind of source one scene in which it reaches its bound: by closed form, both ways."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

__all__ = ["ATTAINING", "Attained"]

Tree: TypeAlias = dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class Attained:
    """A pair whose least gap is `gap` mm as drawn, and in true worlds at most `drop` less and `rise` more.

    `rise` is None where it is not told (an envelope), or where the least gap does not rise as far: in motion, and
    where a shift aside makes way in the bound but not in the gap.
    """

    tree: Tree
    a: str
    b: str
    gap: float
    drop: float
    rise: float | None
    moving: bool = False


def _scene(parts: Tree, frames: Tree | None = None, motions: Tree | None = None) -> Tree:
    found: Tree = {"packcheck": 1, "clearances": {"use": "none", "default": "10 m"}, "list_within": "20 m"}
    return found | {k: v for k, v in (("frames", frames), ("parts", parts), ("motions", motions)) if v}


CUBE = {"box": [20, 20, 20]}


def _two(doubt: Tree, *, on: str = "a", **more: Tree) -> Tree:
    """Two cubes 30 mm apart along x; `doubt` is of the part or of a frame that it stands in."""
    parts: Tree = {"a": {"at": [0, 0, 0], **CUBE}, "b": {"at": [50, 0, 0], **CUBE}}
    frames: Tree = {}
    if on == "f":
        frames["f"] = {"at": [0, 0, 0], **doubt}
        parts["a"]["in"] = "f"
    else:
        parts[on] |= doubt
    for name, keys in more.items():
        parts[name] = {**parts.get(name, {}), **keys}
    return _scene(parts, frames)


def _half_turn(line: str, *, both: bool) -> Tree:
    """A flap of a thin rod is turned by 180 degrees towards a cube: the line, or what both hang on, is off."""
    rod = {"at": [100, 0, 0], "cylinder": {"diameter": 20, "length": 30}}
    cube = {"at": [-150, 0, 0], **CUBE}
    held = {"in": "f"} if both else {}
    hinge = {"through": [0, 0, 0], "axis": "z", "from": 0, "to": 180}
    motion = {"carries": ["a"], "hinge": hinge, **({"in": "f"} if line == "f" else {})}
    return _scene({"a": {**rod, **held}, "b": {**cube, **held}}, {"f": {"tolerance": 3}}, {"m": motion})


def _image(*, across: str, held: str, tolerance: float = 0.0) -> Tree:
    """A cube 40 mm right of the middle, and its image."""
    own = {"tolerance": tolerance} if tolerance else {}
    source = {"in": held, "at": [0, 40, 0], **CUBE, **own} if held else {"at": [0, 40, 0], **CUBE, **own}
    frames = {"f": {"tolerance": 3}} if "f" in (across, held) else {}
    return _scene({"src": source, "img": {"mirror_of": {"part": "src", "across": across}}}, frames)


def _pump(rail: Tree) -> Tree:
    pump = {"box": [50, 50, 50], "faces": {"front": 0, "bottom": {"above": "rail"}}}
    lid = {"box": [300, 300, 2], "faces": {"bottom": "90 up"}}
    return _scene({"rail": {"at": [0, 0, 0], "box": [200, 100, 40], **rail}, "pump": pump, "lid": lid})


def _open_lid(doubt: Tree, *, line: bool) -> Tree:
    """A lid drawn upright and shut by 90 degrees, over a cube."""
    lid = {"at": [0, 0, 100], "box": [4, 100, 200], **({} if line else doubt)}
    hinge = {"through": [0, 0, 0], "axis": "y", "from": -90, "to": 0, "placed_at": -90}
    motion = {"carries": ["a"], "during": "service", "hinge": hinge, **({"in": "f"} if line else {})}
    frames = {"f": doubt} if line else None
    return _scene({"a": lid, "b": {"at": [100, 0, -32], **CUBE}}, frames, {"m": motion})


HALF = {"turn": [0, 0, 30]}
TURNED = 3 * np.cos(np.radians(30)) + 2 * np.sin(np.radians(30))
"""mm; how far a box of 3 and 2 reaches along x, turned by 30 degrees about z with what it stands in."""

ROD = 150 - 10 - 110
"""mm; from the rod, turned by 180 degrees, to the cube."""

ATTAINING: dict[str, Attained] = {
    "ball of a frame": Attained(_two({"tolerance": 3}, on="f"), "a", "b", 30, 3, 3),
    "ball of a part": Attained(_two({"tolerance": 3}), "a", "b", 30, 3, 3),
    "balls of both parts": Attained(_two({"tolerance": 3}, b={"tolerance": 2}), "a", "b", 30, 5, 5),
    "tape": Attained(_two({"known": "tape"}), "a", "b", 30, 3, 3),
    "about": Attained(_two({"fit": "about"}), "a", "b", 30, 15, None),
    "surface against what hangs on it": Attained(_two({"tolerance": 3}, b={"in": "a"}), "a", "b", 30, 3, 3),
    "box of a part": Attained(_two({"tolerance": [3, 0, 0]}), "a", "b", 30, 3, 3),
    "box of a turned frame's part": Attained(
        _scene(
            {
                "a": {"in": "f", "turn": [0, 0, -30], **CUBE, "tolerance": [3, 2, 0]},
                "b": {"at": [50, 0, 0], **CUBE},
            },
            {"f": HALF},
        ),
        "a",
        "b",
        30,
        TURNED,
        None,
    ),
    "line, half a turn": Attained(_half_turn("f", both=False), "a", "b", ROD, 6, None, moving=True),
    "what both hang on, half a turn": Attained(_half_turn("car", both=True), "a", "b", ROD, 6, None, moving=True),
    "mirror against source": Attained(_image(across="f", held=""), "src", "img", 60, 6, 6),
    "source's frame against image": Attained(_image(across="car", held="f"), "src", "img", 60, 6, 6),
    "part and image, each its own": Attained(_image(across="car", held="", tolerance=3), "src", "img", 60, 6, 6),
    "rail under what rests": Attained(_pump({"tolerance": 4}), "pump", "lid", 20, 4, 4),
    "box of a rail": Attained(_pump({"tolerance": [0, 0, 4]}), "pump", "lid", 20, 4, 4),
    "line of what is drawn open": Attained(
        _open_lid({"tolerance": 0.7}, line=True), "a", "b", 20, 0.7 * np.sqrt(2), 0.7 * np.sqrt(2)
    ),
    "box of what is drawn open": Attained(_open_lid({"tolerance": [3, 0, 0]}, line=False), "a", "b", 20, 3, 3),
}
