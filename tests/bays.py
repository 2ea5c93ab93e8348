"""Small scenes made in memory, for tests that have no need of a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.scene.model.scene import (
    Box,
    Capsule,
    Clearances,
    Cone,
    Cylinder,
    Extrude,
    Frame,
    Part,
    Pipe,
    Rule,
    Scene,
    Shape,
    SolidSpec,
    Sphere,
    Tube,
)

PLAIN = Clearances(default=10.0, use="none")
ANGLE = ((0.0, 0.0), (50.0, 0.0), (50.0, 10.0), (10.0, 10.0), (10.0, 50.0), (0.0, 50.0))


def part(name: str, *shapes: Shape, **facts: object) -> Part:
    """A part of plain shapes, anchored as the scene file's defaults do; `facts` are fields of Part."""
    specs = tuple(
        SolidSpec(shape, "origin" if isinstance(shape, (Extrude, Pipe)) else ("mid", "mid", "mid"))
        for shape in shapes
    )
    return replace(Part(name, specs), **facts)  # type: ignore[arg-type]


def scene(
    *parts: Part, clearances: Clearances = PLAIN, frames: Mapping[str, Frame] | None = None, **facts: object
) -> Scene:
    made = Scene("bay.yaml", parts={p.name: p for p in parts}, frames=frames or {}, clearances=clearances)
    return replace(made, **facts)  # type: ignore[arg-type]


def bay(*parts: Part, **facts: object) -> Bay:
    return Bay(assemble(scene(*parts, **facts)))  # type: ignore[arg-type]


def ruled(*rules: Rule, default: float = 10.0) -> Clearances:
    return Clearances(default=default, use="none", rules=rules)


def random_crowd(seed: int, count: int = 14, side: int = 420) -> Scene:
    """Parts of every kind on a 5 mm grid, so crowded that many clash."""
    rng = np.random.default_rng(seed)
    parts = []
    for k in range(count):
        at = tuple(float(x) for x in 5 * rng.integers(0, side // 5, 3))
        turn = tuple(float(x) for x in rng.choice([0, 0, 0, 90, 30], 3))
        parts.append(part(f"p{k:02d}", random_shape(rng), at=at, turn=turn))
    return scene(*parts)


def random_shape(rng: np.random.Generator) -> Shape:
    a, b, c = (float(x) for x in rng.integers(10, 120, 3))
    shapes: list[Shape] = [
        Box((a, b, c)),
        Cylinder(a, b),
        Sphere(a),
        Capsule(min(a, b), a + b),
        Tube(a + 10, a, b),
        Cone(a, b, c),
        Extrude(ANGLE, a),
        Pipe(a / 4 + 2, ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0)), 40.0),
    ]
    return shapes[rng.integers(len(shapes))]
