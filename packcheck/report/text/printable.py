"""Text from a file, made fit to print: nothing in it can move the cursor, colour the screen or turn text round."""

from __future__ import annotations

import unicodedata

__all__ = ["printable"]

UNPRINTABLE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories shown as escapes: controls, invisible formatting, halves of pairs, unassigned, line breaks."""


def printable(text: str) -> str:
    r"""The same text with every invisible character written out.

    Examples
    --------
    >>> print(printable("pump" + chr(27) + "[2J"))
    pump\x1b[2J
    """
    return "".join(map(_shown, text))


def _shown(character: str) -> str:
    if unicodedata.category(character) not in UNPRINTABLE:
        return character
    return character.encode("unicode_escape", "surrogatepass").decode("ascii")
