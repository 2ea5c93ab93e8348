"""What became of a mesh file, for the report: how large, how whole, what was repaired and what was not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from packcheck.scene.model import Mesh, Triple
from packcheck.solids.solid import Solid
from packcheck.tolerances import ODD_LARGE, ODD_SMALL

__all__ = ["LoadedMesh", "MeshAccount", "odd_size", "sheet_words"]

_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
_NAMES: Final = {"mm": "mm", "cm": "cm", "m": "metres", "in": "inches"}
_USUAL: Final = (20.0, 3000.0)
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
    low, high = _USUAL
    likely = (name for name in ("m", "in", "cm", "mm") if low <= longest * _MM[name] / spec.unit <= high)
    name = next(likely, "")
    guess = f"{_NAMES[name]} read as {_NAMES[spec.unit_name]}?" if name else "is the unit right?"
    return f"longest side {longest:.4g} mm: {guess}"


def sheet_words(spec: Mesh, *, closed: bool) -> str:
    """The sheet as the report names it; "" without thickness or side."""
    if not spec.thickness or not spec.side:
        return ""
    return f"{spec.thickness:g} mm{_TO[spec.side]}" + (" (a hollow body: the surface is closed)" if closed else "")
