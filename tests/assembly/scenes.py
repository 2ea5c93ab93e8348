"""Small scenes made by hand, without a file: what hangs on what, and which rules stand."""

from __future__ import annotations

from packcheck.errors import SourceMark
from packcheck.scene.model.scene import Clearances, Frame, LengthUnit, Part, Rule, Scene

BAY = "bay.yaml"


def part(name: str, *kinds: str, on: str = "car", bolted_to: tuple[str, ...] = ()) -> Part:
    return Part(name, solids=(), kinds=kinds, parent=on, bolted_to=bolted_to)


def rule(
    a: str,
    b: str,
    must: float,
    want: float | None = None,
    *,
    moving: float | None = None,
    lower: bool = False,
    line: int = 1,
) -> Rule:
    return Rule((a, b), must, want, moving, lower, "by hand", "", SourceMark(BAY, line, 5))


def scene(
    *parts: Part,
    frames: dict[str, str] | None = None,
    clearances: Clearances | None = None,
    units: LengthUnit = "mm",
) -> Scene:
    """A scene of `parts` on `frames` (name: parent)."""
    return Scene(
        BAY,
        units=units,
        frames={name: Frame(name, parent) for name, parent in (frames or {}).items()},
        parts={made.name: made for made in parts},
        clearances=clearances or Clearances(),
    )
