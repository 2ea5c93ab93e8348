"""Words of a text file turned to numbers, all of them or none."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NoReturn

import numpy as np

from packcheck.arrays import Faces, Floats
from packcheck.solids.formats.gate import RefusedError

__all__ = ["floats", "integers"]


def floats(words: Sequence[bytes] | Sequence[str], of_what: str) -> Floats:
    """`words` as float64 (n,); refused with the first word that is no number."""
    try:
        return np.fromiter(map(float, words), np.float64, len(words))
    except ValueError:
        _refuse(words, float, of_what, "a number")


def integers(words: Sequence[bytes] | Sequence[str], of_what: str) -> Faces:
    """`words` as int64 (n,); refused with the first word that is no whole number, or a huge one."""
    try:
        return np.fromiter(map(int, words), np.int64, len(words))
    except (ValueError, OverflowError):
        _refuse(words, _small_int, of_what, "a whole number")


def _small_int(word: bytes | str) -> int:
    return int(np.int64(int(word)))


def _refuse(
    words: Sequence[bytes] | Sequence[str], kind: Callable[[bytes | str], object], of_what: str, needed: str
) -> NoReturn:
    for word in words:
        try:
            kind(word)
        except (ValueError, OverflowError):
            got = word[:30] if isinstance(word, str) else word[:30].decode(errors="replace")
            comma = "write decimal points, not commas" if "," in got else "export the part again"
            raise RefusedError(f"has {of_what} with {got!r} where {needed} must be", mend=comma) from None
    raise RefusedError(f"has {of_what} that are not numbers")
