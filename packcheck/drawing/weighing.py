"""What parts weigh, where their weight sits, how much they hold; all in the car frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Matrix3, Point
from packcheck.assembly.assembly import Assembly
from packcheck.data import materials
from packcheck.frames import Pose
from packcheck.placing.placing import SolidMaker
from packcheck.scene.model.scene import Part, SolidSpec
from packcheck.solids.bulk import Bulk, added
from packcheck.solids.bulk_shapes import hollow, shape_bulk
from packcheck.solids.core.solid import Solid

__all__ = ["Total", "Weighed", "corner_loads", "total", "weigh_parts"]

PER_MM3 = 1e-9
"""m3 per mm3."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """One part. Moments in `bulk` are those of its mass (kg, kg mm, kg mm^2), car frame; None: it has no mass.

    `volume` of its shape (mm^3, with its bounds), `area` mm^2, `holds` mm^3 within its walls; `basis` says where
    the mass is from, `doubts` what may be off.
    """

    part: str
    bulk: Bulk | None
    basis: str
    volume: tuple[float, float, float] | None
    area: float | None
    holds: tuple[float, float, float] | None = None
    doubts: tuple[str, ...] = ()

    @property
    def mass(self) -> float | None:
        return None if self.bulk is None else self.bulk.volume


@dataclass(frozen=True, slots=True, eq=False)
class Total:
    """All parts with a mass: kg with its bounds, centre (3,) mm, inertia (3, 3) kg mm^2 about it, car axes."""

    mass: float
    low: float
    high: float
    centre: Point
    inertia: Matrix3


def weigh_parts(assembly: Assembly, maker: SolidMaker | None = None) -> dict[str, Weighed]:
    """Every part but room kept free, scene order. `maker` makes the shapes; without one they are made anew."""
    maker = maker or SolidMaker()
    return {
        name: _weighed(part, assembly.poses[name], maker, assembly)
        for name, part in assembly.scene.parts.items()
        if name not in assembly.rules.rooms.names
    }


def _weighed(part: Part, pose: Pose, maker: SolidMaker, assembly: Assembly) -> Weighed:
    shapes = maker.shapes(part)
    filled = [shape_bulk(spec.shape, solids) for spec, _, solids in shapes]
    doubts: list[str] = []
    if None in filled:
        doubts.append("an open mesh without a thickness has no volume")
        outside = None
    else:
        outside = added(bulk.placed(at) for bulk, (_, at, _) in zip(filled, shapes, strict=True) if bulk)
        doubts += _overlaps(part, shapes)
    inside = _inside(part, shapes, doubts) if part.wall else None
    metal = _walls(part, outside, inside)
    if metal is not None and len(part.solids) > 1 and doubts:
        metal = Bulk(metal.volume, metal.first, metal.second, metal.area, 0.0, metal.high)
    bulk, basis = _mass(part, metal, assembly)
    return Weighed(
        part.name,
        None if bulk is None else bulk.placed(pose),
        basis,
        None if outside is None else (outside.volume, outside.low, outside.high),
        None if outside is None else outside.area,
        None if inside is None else (inside.volume, inside.low, inside.high),
        tuple(doubts),
    )


def _walls(part: Part, outside: Bulk | None, inside: Bulk | None) -> Bulk | None:
    """What the part is made of: all of its shape, or its walls."""
    if part.wall is None or outside is None:
        return outside
    return None if inside is None else outside + inside.times(-1.0)


def _inside(
    part: Part, shapes: Iterable[tuple[SolidSpec, Pose, tuple[Solid, ...]]], doubts: list[str]
) -> Bulk | None:
    """What its walls leave, or None with the reason among the doubts."""
    assert part.wall is not None
    bulks = []
    for spec, at, solids in shapes:
        held = hollow(spec.shape, solids, part.wall)
        if isinstance(held, str):
            doubts.append(held)
            return None
        bulks.append(held.placed(at))
    return added(bulks)


def _overlaps(part: Part, shapes: tuple[tuple[SolidSpec, Pose, tuple[Solid, ...]], ...]) -> list[str]:
    """A doubt where shapes of one part may share room, which then counts twice."""
    boxes = [_box(at, solids) for _, at, solids in shapes]
    for k, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[:k]:
            if bool(np.all(low < other_high - 0.01) and np.all(other_low < high - 0.01)):
                return [f"its {len(part.solids)} shapes may overlap: what they share counts twice"]
    return []


def _box(at: Pose, solids: tuple[Solid, ...]) -> tuple[Point, Point]:
    grown = [(at.apply(solid.vertices), solid.radius) for solid in solids]
    low = np.min([points.min(axis=0) - radius for points, radius in grown], axis=0)
    high = np.max([points.max(axis=0) + radius for points, radius in grown], axis=0)
    return low, high


def _mass(part: Part, metal: Bulk | None, assembly: Assembly) -> tuple[Bulk | None, str]:
    """The moments of a part's mass in its own frame, and where they come from."""
    if part.mass is not None:
        if metal is None or not metal.volume:
            return _point_mass(part, assembly), "given; taken at the middle of its box"
        even = metal.times(part.mass / metal.volume)
        return Bulk(part.mass, even.first, even.second, even.area, part.mass, part.mass), "given"
    if part.material is None:
        return None, "no mass and no material"
    if metal is None:
        return None, "its volume is not known"
    row = materials()[part.material]
    made = metal.times(row.density * PER_MM3)
    low = max(0.0, metal.low) * row.low * PER_MM3
    basis = ", ".join(filter(None, [f"{part.material}, {row.density:g} kg/m3", row.recalled]))
    if part.fit != "exact":
        return Bulk(made.volume, made.first, made.second, made.area, 0.0, metal.high * row.high * PER_MM3), (
            f"{basis}; its shape is only an envelope, so this is too much"
        )
    return Bulk(made.volume, made.first, made.second, made.area, low, metal.high * row.high * PER_MM3), basis


def _point_mass(part: Part, assembly: Assembly) -> Bulk:
    """A mass without a known shape, all of it at the middle of the part's box."""
    assert part.mass is not None
    low, high = assembly.parts[part.name].at(Pose(np.eye(3), np.zeros(3))).box()
    middle = (low + high) / 2
    return Bulk.exact(part.mass, part.mass * middle, part.mass * np.outer(middle, middle), 0.0)


def total(weighed: Mapping[str, Weighed]) -> Total | None:
    """All that has a mass, together; None when nothing has."""
    bulks = [one.bulk for one in weighed.values() if one.bulk is not None]
    if not bulks:
        return None
    whole = added(bulks)
    return Total(whole.volume, whole.low, whole.high, whole.middle, whole.inertia())


def corner_loads(assembly: Assembly, centre: Point, mass: float) -> dict[str, float] | None:
    r"""What a mass at `centre` (3,) mm puts on each wheel, kg; None when the scene gives no wheels.

    Lever rule lengthwise between the axles, then crosswise on each axle: the car is taken as level, and as carrying
    its weight evenly across (no wedge wound into the springs), for four legs on a floor decide no more than that.

          front          cg        rear
            |-----a------|----b----|          rear axle: mass a / (a + b)
    """
    wheels, axes = assembly.scene.wheels, assembly.scene.axes
    if wheels is None:
        return None
    words = (axes.x, axes.y, axes.z)
    long = next(k for k, word in enumerate(words) if word in ("fore", "aft"))
    wide = next(k for k, word in enumerate(words) if word in ("left", "right"))
    front, rear = (wheels.front_left, wheels.front_right), (wheels.rear_left, wheels.rear_right)
    share = _share(front[0][long] + front[1][long], rear[0][long] + rear[1][long], 2 * float(centre[long]))
    loads = {}
    for name, axle, held in (("front", front, 1 - share), ("rear", rear, share)):
        right = _share(axle[0][wide], axle[1][wide], float(centre[wide]))
        loads[f"{name}_left"], loads[f"{name}_right"] = mass * held * (1 - right), mass * held * right
    return loads


def _share(start: float, end: float, at: float) -> float:
    """How much of a weight `at` rests on `end`, the rest on `start`."""
    return (at - start) / (end - start)
