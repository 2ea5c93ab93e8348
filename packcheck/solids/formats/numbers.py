"""Words of a text file turned to numbers, all of them or none."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from packcheck.arrays import Faces, Floats
from packcheck.solids.formats.gate import RefusedError

__all__ = ["floats", "integers", "words_in_lines"]


def words_in_lines(lines: Sequence[bytes]) -> tuple[list[bytes], Faces]:
    """All words of `lines`, parted by spaces only, and how many (n,) each line has."""
    text = b" " + b"\n ".join(lines) + b"\n"
    letters = np.frombuffer(text, dtype=np.uint8)
    black = (letters != ord(" ")) & (letters != ord("\n"))
    begins = np.flatnonzero(black[1:] & ~black[:-1])
    ends = np.flatnonzero(letters == ord("\n"))
    counts: Faces = np.diff(np.searchsorted(begins, ends), prepend=0)
    return text.split(), counts[: len(lines)]


def floats(words: Sequence[bytes], of_what: str) -> Floats:
    """`words` as float64 (n,); refused with the first word that is no number."""
    try:
        _no_underscores(words)
        return np.fromiter(map(float, words), np.float64, len(words))
    except ValueError:
        raise _refusal(words, float, of_what, "a number") from None


def integers(words: Sequence[bytes], of_what: str) -> Faces:
    """`words` as int64 (n,); refused with the first word that is no whole number, or a huge one."""
    try:
        _no_underscores(words)
        return np.fromiter(map(int, words), np.int64, len(words))
    except (ValueError, OverflowError):
        raise _refusal(words, _small_int, of_what, "a whole number") from None


def _no_underscores(words: Sequence[bytes]) -> None:
    """Python reads 1_0 as ten; no mesh file means that."""
    if b"_" in b" ".join(words):
        raise ValueError


def _small_int(word: bytes) -> int:
    return int(np.int64(int(word)))


def _refusal(words: Sequence[bytes], kind: Callable[[bytes], object], of_what: str, needed: str) -> RefusedError:
    for word in words:
        try:
            _no_underscores([word])
            kind(word)
        except (ValueError, OverflowError):
            got = word[:30].decode(errors="replace")
            mend = "write decimal points, not commas" if "," in got else "export the part again"
            return RefusedError(f"has {of_what} with {got!r} where {needed} must be", mend=mend)
    return RefusedError(f"has {of_what} that are not numbers")
