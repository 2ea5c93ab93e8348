"""Short ways to put solids somewhere, for the tests of the kernel."""

from __future__ import annotations

from packcheck.frames import Pose
from packcheck.proximity import Placed
from packcheck.scene.model.scene import Extrude, Shape
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape

Triple = tuple[float, float, float]

L_SECTION = Extrude(((0, 0), (50, 0), (50, 10), (10, 10), (10, 50), (0, 50)), 20)
"""An angle section with legs of 50 and walls of 10, 20 long."""


def placed(
    shape: Shape, at: Triple = (0, 0, 0), turn: Triple = (0, 0, 0), name: str = "a", wrap: float = 0
) -> Placed:
    solids = tuple(solid.wrapped(wrap) for solid in build_shape(shape))
    return Placed(name, solids, Pose.of(at, turn))


def solid_at(solid: Solid, at: Triple = (0, 0, 0), name: str = "a") -> Placed:
    return Placed(name, (solid,), Pose.of(at))
