"""Words for messages: the known one somebody may have meant, lists that stay short."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from itertools import islice
from typing import Final

__all__ = ["closest", "joined", "nearest", "turn_meant"]

MOST_ALIKE: Final = 200
"""Words compared with a misspelt one; a scene with hundreds of slips must still be refused at once."""

LONGEST_ROW: Final = 12
"""Names in one row of a message."""

_TURN_HABITS: Final[Mapping[str, tuple[str, str]]] = {
    **dict.fromkeys(("back", "backward", "backwards", "rearward", "aft"), ("nose_up", "tips its top back")),
    **dict.fromkeys(("forward", "forwards", "fore", "front"), ("nose_down", "tips its top forward")),
}
"""The turn that people mean who write that something leans, tilts or tips such a way, and what it does."""

_TIPPING: Final = ("lean", "tilt", "tip", "rake")


def turn_meant(key: str, value: str) -> str:
    """A sentence with the turn that a word which is none stands for, its sign kept, or nothing."""
    verb, _, way = key.lower().replace("-", "_").partition("_")
    if verb not in _TIPPING or way not in _TURN_HABITS:
        return ""
    word, does = _TURN_HABITS[way]
    return f"write {word}: {value}; {word} {does}"


def closest(word: str, known: Iterable[str], *, alikeness: float = 0.55) -> str:
    """The known word most like `word`, or nothing."""
    alike = islice((other for other in known if abs(len(other) - len(word)) <= 3), MOST_ALIKE)
    return next(iter(get_close_matches(word, list(alike), n=1, cutoff=alikeness)), "")


def nearest(word: str, known: Iterable[str], *, alikeness: float = 0.55) -> str:
    """A sentence naming the known word most like `word`, or nothing."""
    near = closest(word, known, alikeness=alikeness)
    return f"did you mean {near!r}?" if near else ""


def joined(names: Sequence[str], joint: str = ", ") -> str:
    """The names in a row, the middle of a long row left out."""
    return joint.join(names if len(names) <= LONGEST_ROW else [*names[: LONGEST_ROW - 2], "...", names[-1]])
