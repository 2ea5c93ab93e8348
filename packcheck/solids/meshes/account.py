"""What became of a mesh file, for the report: how large, how whole, what was repaired and what was not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from packcheck.scene.model.scene import LengthUnit, Mesh, Triple
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import ODD_LARGE, ODD_SMALL

__all__ = ["UNITS", "USUAL", "LoadedMesh", "MeshAccount", "asked_words", "odd_size", "sheet_words"]

UNITS: Final[dict[LengthUnit, float]] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""mm in each."""

_NAMES: Final = {"mm": "mm", "cm": "cm", "m": "metres", "in": "inches"}
USUAL: Final = (20.0, 3000.0)
"""mm. The longest side of nearly every part of a car."""

_TO: Final = {"outer": " to the inside", "inner": " to the outside", "middle": ", half to each side"}


@dataclass(frozen=True, slots=True)
class MeshAccount:
    """The file and the surface in it.

    Parameters
    ----------
    file : str
        Name without folders.
    format : str
        As found, such as "binary STL".
    triangles, pieces : int
        After repair, before thickening; pieces hang together by edges.
    closed : bool
        Every piece bounds a volume.
    extents : (3,)
        Full size along x, y and z, mm.
    repaired, unrepaired : tuple of str
        What was changed without doubt; what is still not right or was left out.
    sheet : str
        Thickness and side when the surface was taken as a sheet, else "".
    odd_size : str
        A question when the size is unlikely for a part of a car, else "".
    stretch : float
        How far off its scale may be, as a share of it: a point that far from where the part is placed is off by
        so much of the distance.
    """

    file: str
    format: str
    triangles: int
    pieces: int
    closed: bool
    extents: Triple
    repaired: tuple[str, ...] = ()
    unrepaired: tuple[str, ...] = ()
    sheet: str = ""
    odd_size: str = ""
    stretch: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class LoadedMesh:
    """A mesh file as a solid in its own frame (mm), and the account of it."""

    solid: Solid
    account: MeshAccount


def odd_size(extents: Triple, spec: Mesh) -> str:
    """A question when the longest side is under 5 mm or over 10 m, naming the unit that would make it usual.

    Examples
    --------
    >>> from pathlib import Path
    >>> odd_size((0.4, 0.2, 0.1), Mesh(Path("a.stl"), 1.0, "mm"))
    'longest side 0.4 mm: metres read as mm?'
    >>> odd_size((400, 200, 100), Mesh(Path("a.stl"), 1.0, "mm"))
    ''
    """
    longest = max(extents)
    if ODD_SMALL <= longest <= ODD_LARGE:
        return ""
    low, high = USUAL
    units: tuple[LengthUnit, ...] = ("m", "in", "cm", "mm")
    likely = (name for name in units if low <= longest * UNITS[name] / spec.unit <= high)
    name = next(likely, None)
    guess = f"{_NAMES[name]} read as {_NAMES[spec.unit_name]}?" if name else "is the unit right?"
    return f"longest side {longest:.4g} mm: {guess}"


def asked_words(spec: Mesh) -> tuple[str, ...]:
    """What the scene asks to be changed that does not show elsewhere.

    Examples
    --------
    >>> from pathlib import Path
    >>> from packcheck.scene.model.scene import Tape
    >>> asked_words(Mesh(Path("a.stl"), 1000.0, "m", scale=1.03, tape=Tape(400.0, 412.0, 2.0)))
    ('scaled by 1.03: 400 mm in the file, 412 mm by tape, within 0.49 %',)
    """
    words: tuple[str, ...] = (f"bodies taken: {', '.join(spec.bodies)}",) if spec.bodies else ()
    if spec.axes != ("x", "y", "z"):
        words += (f"turned: its {', '.join(spec.axes)} are x, y, z here",)
    if tape := spec.tape:
        share = 100 * tape.tolerance / tape.by_tape
        words += (
            f"scaled by {spec.scale:.4g}: {tape.in_file:.4g} mm in the file, {tape.by_tape:.4g} mm by tape, "
            f"within {share:.2g} %",
        )
    return words


def sheet_words(spec: Mesh, *, closed: bool) -> str:
    """The sheet as the report names it; "" without thickness or side."""
    if not spec.thickness or not spec.side:
        return ""
    return f"{spec.thickness:g} mm{_TO[spec.side]}" + (" (a hollow body: the surface is closed)" if closed else "")
