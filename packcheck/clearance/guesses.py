"""Which pairs of parts rest on a guess: `known: guess` of a part, or of what only one of the two hangs on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from math import comb

from packcheck.scene.model.scene import Frame, Part, Scene

__all__ = ["Guesses"]


class Guesses:
    """What of a scene is known by guess only. A guess that both parts of a pair hang on shifts both alike."""

    def __init__(self, scene: Scene) -> None:
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._guessed = {name for name, node in self._nodes.items() if node.known == "guess"}
        self._carriers = {name: self._guessed_carriers(name) for name in scene.parts}

    def between(self, a: str, b: str) -> bool:
        """Whether the gap between two parts rests on a guess."""
        return bool({a, b} & self._guessed) or self._carriers[a] != self._carriers[b]

    def pairs(self, names: Iterable[str]) -> int:
        """How many pairs among `names` rest on a guess."""
        listed = list(names)
        sure = Counter(self._carriers[name] for name in listed if name not in self._guessed)
        return comb(len(listed), 2) - sum(comb(count, 2) for count in sure.values())

    def _guessed_carriers(self, name: str) -> frozenset[str]:
        found, parent = set(), self._nodes[name].parent
        while parent in self._nodes:
            found |= {parent} & self._guessed
            parent = self._nodes[parent].parent
        return frozenset(found)
