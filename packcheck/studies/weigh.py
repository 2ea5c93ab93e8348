"""What does it weigh, where does that weight sit, and how much does each part hold?

Method
------
A part weighs its `mass`, or what its `material` and the volume of its shape come to. Volumes of plain shapes are
closed forms (a bar is its section times its centreline), those of meshes sums of tetrahedra over their triangles. A
`wall` makes a part hollow: its shape is the outside of walls of that thickness, what they enclose is what it holds.
A mesh with a `thickness` is a sheet and weighs what the sheet does. The ends of a pipe are open.

Centre of gravity and inertia follow from the same sums, even density within each part, by the parallel axis rule:
I = I_c + m d^2. Moments of inertia are about the centre of gravity, along the car's axes; products of inertia are
printed as the integrals of x y, y z and z x.

With `wheels` in the scene, each wheel's load follows from the lever rule: lengthwise between the axles, then
crosswise on each. The car is taken as level and as carrying evenly: four legs on a floor decide no more.

Bounds
------
A mass from a material lies between what the lightest and the heaviest of that name would give, and between the
volumes that a mended mesh may have. A mass from an envelope (`fit`) is at most what is printed. Shapes of one part
that overlap count twice, which is said. Tolerances of parts are not in it.

Limits
------
Only parts in the file weigh anything, and parts without mass or material are listed and weigh nothing here. A given
mass is spread evenly over its part's shape; a motor or a battery is not quite that even.

Example
-------
    packcheck weigh scenes/hillclimb_rear_bay.yaml --layout tank_right
"""

from __future__ import annotations

from collections.abc import Collection

from packcheck.assembly.assembly import Assembly
from packcheck.drawing.weighing import Total, Weighed, corner_loads, total, weigh_parts
from packcheck.findings import Report, Table
from packcheck.proximity import Session

__all__ = ["ID", "loads_table", "run", "weights_table"]

ID = "weigh"

LITRE = 1e-6  # litres per mm^3
SQUARE_METRE = 1e-6  # m^2 per mm^2


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001 - the form of a study
    """The weights as tables; `only` keeps the rows of these parts, the sums are of all."""
    weighed = weigh_parts(assembly)
    whole = total(weighed)
    unknown = [one for one in weighed.values() if one.mass is None]
    tables = [_parts(weighed, only), *([] if whole is None else [_sums(assembly, whole, unknown)])]
    loads = None if whole is None else corner_loads(assembly, whole.centre, whole.mass)
    if loads is not None and whole is not None:
        tables.append(_wheels(loads, whole.mass))
    if unknown:
        tables.append(_without(unknown))
    return Report(
        scene=assembly.scene.path,
        title=assembly.scene.title,
        layout=assembly.scene.layout,
        tables=tuple(tables),
        units=assembly.scene.units,
    )


def _parts(weighed: dict[str, Weighed], only: Collection[str]) -> Table:
    rows = [_row(one) for one in weighed.values() if not only or one.part in only]
    columns = ("part", "mass, kg", "from, kg", "to, kg", "volume, l", "surface, m2", "holds, l", "basis", "doubt")
    return Table("weights", "Weights of the parts", columns, tuple(rows))


def _row(one: Weighed) -> tuple[str | float | None, ...]:
    bulk, volume, holds = one.bulk, one.volume, one.holds
    sure = bulk is None or bulk.high - bulk.low <= 1e-9
    return (
        one.part,
        None if bulk is None else bulk.volume,
        None if bulk is None or sure else bulk.low,
        None if bulk is None or sure else bulk.high,
        None if volume is None else volume[0] * LITRE,
        None if one.area is None else one.area * SQUARE_METRE,
        None if holds is None else holds[0] * LITRE,
        one.basis,
        "; ".join(one.doubts),
    )


def _sums(assembly: Assembly, whole: Total, unknown: list[Weighed]) -> Table:
    """Mass, centre and inertia of all that has a mass."""
    x, y, z = (float(value) for value in whole.centre)
    inertia = whole.inertia * 1e-6  # kg m2
    rows: list[tuple[str, str | float]] = [
        ("mass, kg", whole.mass),
        ("mass at least, kg", whole.low),
        ("mass at most, kg", whole.high),
        ("centre of gravity x, mm", x),
        ("centre of gravity y, mm", y),
        ("centre of gravity z, mm", z),
        ("centre of gravity", assembly.datums.place(whole.centre).text),
        *((f"inertia about {axis}, kg m2", float(inertia[k, k])) for k, axis in enumerate("xyz")),
        *((f"product of inertia {a}{b}, kg m2", float(-inertia[i, j])) for a, b, i, j in _PRODUCTS),
    ]
    without = (
        f"Without {len(unknown)} part{'s' * (len(unknown) > 1)} that have no mass, listed below." if unknown else ""
    )
    return Table("sums", "All parts with a mass, together", ("what", "figure"), tuple(rows), without)


_PRODUCTS = (("x", "y", 0, 1), ("y", "z", 1, 2), ("z", "x", 2, 0))


def _wheels(loads: dict[str, float], mass: float) -> Table:
    axles = {axle: loads[f"{axle}_left"] + loads[f"{axle}_right"] for axle in ("front", "rear")}
    rows = [(name.replace("_", " "), kg, 100 * kg / mass) for name, kg in loads.items()]
    rows += [(f"{axle} axle", kg, 100 * kg / mass) for axle, kg in axles.items()]
    note = (
        "What these parts put on each wheel, the car level and carrying evenly; the rest of the car comes on top."
    )
    return Table("wheel_loads", "Loads on the wheels", ("on", "load, kg", "share, %"), tuple(rows), note)


def _without(unknown: list[Weighed]) -> Table:
    rows = [(one.part, "; ".join([one.basis, *one.doubts])) for one in unknown]
    note = "They weigh nothing in the sums above. Give each its mass, or a material."
    return Table("without_mass", f"Without a mass: {len(unknown)}", ("part", "why"), tuple(rows), note)


def weights_table(totals: dict[str, Total | None], first: str) -> Table:
    """Mass and centre of several layouts, and how they differ from `first`."""
    base = totals[first]
    rows = [(name, *_figures(whole, None if name == first else base)) for name, whole in totals.items()]
    where = ("x, mm", "y, mm", "z, mm")
    columns = ("layout", "mass, kg", *where, "more, kg", *(f"moved {axis}" for axis in where))
    title = f"Mass and centre of gravity, against {first}"
    return Table("weights_of_layouts", title, columns, tuple(rows))


def loads_table(loads: dict[str, dict[str, float] | None], first: str) -> Table:
    """What each wheel and axle carries in several layouts, and how much more than in `first`, kg."""
    base = _carried(loads[first])
    rows: list[tuple[str | float | None, ...]] = []
    for name, own in loads.items():
        carried = _carried(own)
        rows.append((name, *carried))
        if name != first and carried and base:
            more = (here - there for here, there in zip(carried, base, strict=True))
            rows.append((f"{name}, more than {first}", *more))
    columns = (
        "layout",
        *(f"{wheel.replace('_', ' ')}, kg" for wheel in _WHEELS),
        "front axle, kg",
        "rear axle, kg",
    )
    padded = tuple((*row, *[None] * (len(columns) - len(row))) for row in rows)
    return Table("loads_of_layouts", f"Loads on the wheels, against {first}", columns, padded)


_WHEELS = ("front_left", "front_right", "rear_left", "rear_right")


def _carried(loads: dict[str, float] | None) -> list[float]:
    """Wheel by wheel, then axle by axle; nothing where they cannot be told."""
    if loads is None:
        return []
    wheels = [loads[wheel] for wheel in _WHEELS]
    return [*wheels, wheels[0] + wheels[1], wheels[2] + wheels[3]]


def _figures(whole: Total | None, base: Total | None) -> list[float | None]:
    """Mass and centre, then what they are more than those of `base`."""
    if whole is None:
        return [None] * 8
    own = [whole.mass, *map(float, whole.centre)]
    if base is None:
        return [*own, *[None] * 4]
    return [*own, whole.mass - base.mass, *map(float, whole.centre - base.centre)]
