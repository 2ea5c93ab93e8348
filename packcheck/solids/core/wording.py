"""Numbers and their nouns."""

from __future__ import annotations

__all__ = ["counted"]


def counted(count: int, one: str, many: str = "") -> str:
    """A number and its noun.

    Examples
    --------
    >>> counted(1, "face"), counted(2, "face"), counted(3, "vertex", "vertices")
    ('1 face', '2 faces', '3 vertices')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
