"""Directions in words: what axes are called, and what the words of turns and faces mean along them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final, NamedTuple, TypeAlias, cast

from packcheck.scene.model.scene import AxisName, Direction, FaceName

__all__ = [
    "AXIS_NAMES",
    "FACES",
    "KIN",
    "OPPOSITE",
    "TURNS",
    "WORDS",
    "Along",
    "Ways",
    "axis_of",
    "distinct",
    "fitting",
    "split_word",
]

AXIS_NAMES: Final[tuple[AxisName, ...]] = ("x", "y", "z")

OPPOSITE: Final[Mapping[Direction, Direction]] = {
    "aft": "fore",
    "fore": "aft",
    "right": "left",
    "left": "right",
    "up": "down",
    "down": "up",
}

WORDS: Final[Mapping[str, Direction]] = {
    "fore": "fore",
    "forward": "fore",
    "aft": "aft",
    "rearward": "aft",
    "left": "left",
    "right": "right",
    "up": "up",
    "down": "down",
}
"""Words that may stand behind a coordinate."""

KIN: Final[Mapping[str, str]] = {
    **dict.fromkeys(("forwards", "front", "ahead"), "fore"),
    **dict.fromkeys(("rear", "back", "backward", "backwards", "behind", "rearwards", "astern"), "aft"),
    **dict.fromkeys(("above", "upward", "upwards", "top", "higher"), "up"),
    **dict.fromkeys(("below", "downward", "downwards", "bottom", "lower", "under"), "down"),
    **dict.fromkeys(("leftward", "leftwards", "port"), "left"),
    **dict.fromkeys(("rightward", "rightwards", "starboard"), "right"),
}
"""Words that people write instead, for hints."""

FACES: Final[Mapping[FaceName, Direction]] = {
    "front": "fore",
    "rear": "aft",
    "left": "left",
    "right": "right",
    "top": "up",
    "bottom": "down",
}
"""The way each face of a part looks."""

TURNS: Final[Mapping[str, Direction]] = {
    "nose_up": "right",
    "nose_down": "left",
    "lean_left": "aft",
    "lean_right": "fore",
    "swing_left": "up",
    "swing_right": "down",
}
"""The way the right thumb points when the fingers curl as the turn goes."""

Ways: TypeAlias = Mapping[AxisName, Direction]
"""Where positive x, y and z point."""


class Along(NamedTuple):
    """An axis, by its place in x, y, z, and whether a direction runs up (1) or down (-1) it."""

    axis: int
    sign: int


def axis_of(ways: Ways, way: Direction) -> Along:
    """The axis that `way` runs along; the `ways` are `distinct`."""
    (name,) = (name for name, positive in ways.items() if way in (positive, OPPOSITE[positive]))
    return Along(AXIS_NAMES.index(name), 1 if ways[name] == way else -1)


def distinct(stated: Mapping[str, str]) -> Ways:
    """The `stated` axes, or none when they are not one each of fore or aft, left or right, up or down."""
    pairs = [{way, OPPOSITE[cast(Direction, way)]} for way in stated.values() if way in OPPOSITE]
    whole = len(pairs) == 3 and set.union(*pairs) == set(OPPOSITE)
    return cast(Ways, dict(stated)) if whole else {}


def fitting(way: Direction) -> str:
    """The words for `way` and for its opposite, in a row."""
    words = [word for side in (way, OPPOSITE[way]) for word, meant in WORDS.items() if meant == side]
    return ", ".join(words[:-1]) + " or " + words[-1]


_LAST_WORD = re.compile(r"(?P<rest>.*[\w.)\"'°])\s+(?P<word>[^\W\d_]+)\s*", re.DOTALL)
# Behind an operand no name can stand in arithmetic, so a direction word there is never a param called `left`.


def split_word(text: str) -> tuple[str, str, int]:
    """What stands before the last word of a text, that word, and where it begins; the word may be missing.

    Examples
    --------
    >>> split_word("plenum_height + 20 mm up")
    ('plenum_height + 20 mm', 'up', 22)
    >>> split_word("2 * left")
    ('2 * left', '', 8)
    """
    found = _LAST_WORD.fullmatch(text)
    if found is None:
        return text, "", len(text)
    return found["rest"], found["word"], found.start("word")
