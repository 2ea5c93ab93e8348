"""Where other parts put a part: what it rests on, of what it is the image."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Mirror", "Rest", "leaders"]


@dataclass(frozen=True, slots=True)
class Rest:
    """A part was put where it first meets one of the parts `on`, coming along an axis (0, 1, 2) of its parent.

    `sign` 1: it comes from the positive side. `on` holds all it may meet; what it met, first. Its `face` then
    stands `off` mm from there.
    """

    on: tuple[str, ...]
    axis: int
    sign: int
    face: Literal["front", "rear", "left", "right", "top", "bottom"] = "bottom"
    off: float = 0.0


@dataclass(frozen=True, slots=True)
class Mirror:
    """A part is the image of part `of`, across the middle, left to right, of frame `across`.

    `axis` (0, 1, 2) is the one that runs left or right. `placed`, `turned`, `shaped`, `known`: whether its place,
    its turn, its solids and its tolerance are those of the image; what is not stands in the file. `needs`, `lined`:
    whether those are stated for the image itself. `default`: nobody said across what.
    """

    of: str
    across: str
    axis: int
    placed: bool = True
    turned: bool = True
    shaped: bool = True
    known: bool = True
    needs: bool = False
    lined: bool = False
    default: bool = False


def leaders(mirror: Mirror | None, rest: Rest | None) -> tuple[str, ...]:
    """What takes a part along though it does not hang on it: what it shows, and across what; what it rests on."""
    return (*((mirror.of, mirror.across) if mirror else ()), *(rest.on if rest else ()))
