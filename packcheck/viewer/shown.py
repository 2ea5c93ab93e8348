"""What of the bay is to be seen, apart from what the desk is at."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["SWITCHES", "Shown"]

SWITCHES = {"names": "names of parts", "datums": "datums", "skins": "body panels", "ends": "extreme poses"}
"""What can be switched on and off, beside the cut and the kinds, and what each is called."""


@dataclass(slots=True)
class Shown:
    """Switches. `cut` is how far from the spot the section lies, mm, towards the eye; `hidden` are kinds."""

    cutting: bool = False
    cut: float = 0.0
    skins: bool = True
    names: bool = False
    datums: bool = False
    ends: bool = True
    hidden: set[str] = field(default_factory=set)

    def flip(self, what: str) -> None:
        """Switch one of SWITCHES, or `cutting`, to its other side."""
        setattr(self, what, not getattr(self, what))

    def flip_kinds(self, kinds: set[str]) -> None:
        """Hide these kinds; where all are hidden already, show them."""
        self.hidden = self.hidden - kinds if kinds <= self.hidden else self.hidden | kinds

    def hides(self, kinds: tuple[str, ...]) -> bool:
        """Whether a part of these kinds is hidden; one without a kind is of `no kind`."""
        return bool(self.hidden & set(kinds or ("no kind",)))
