"""Makes the meshes of the demo scenes: `python meshes_demo/make_meshes.py [folder]`.

Everything is drawn here, in mm, in car axes (x aft, y right, z up), each part about a zero of its own that its
docstring names. Running it again gives the same files, byte for byte. It needs numpy, scipy and manifold3d.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from castings import alternator, gearbox_casing, head_cover
from manifold3d import Manifold
from panels import rear_deck, seat_bulkhead
from shaping import Faces, Points, triangles
from tubework import air_filter, exhaust_manifold, intake_plenum
from writing import write

SOLIDS: dict[str, Callable[[], Manifold]] = {
    "exhaust_manifold.stl": exhaust_manifold,
    "intake_plenum.glb": intake_plenum,
    "gearbox_casing.ply": gearbox_casing,
    "head_cover.off": head_cover,
    "alternator.obj": alternator,
    "air_filter.ply": air_filter,
}
SKINS: dict[str, Callable[[], tuple[Points, Faces]]] = {
    "rear_deck.obj": rear_deck,
    "seat_bulkhead.ply": seat_bulkhead,
}


def make_all(folder: Path) -> None:
    """Write every mesh of the demo into `folder`."""
    for name, shape in SOLIDS.items():
        write(folder / name, *triangles(shape()))
    for name, skin in SKINS.items():
        write(folder / name, *skin())


if __name__ == "__main__":
    make_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
