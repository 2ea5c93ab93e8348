"""Words for messages: the known one somebody may have meant, lists that stay short."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from itertools import islice
from typing import Final

__all__ = ["closest", "joined", "nearest"]

MOST_ALIKE: Final = 200
"""Words compared with a misspelt one; a scene with hundreds of slips must still be refused at once."""

LONGEST_ROW: Final = 12
"""Names in one row of a message."""


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
