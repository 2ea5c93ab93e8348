"""Boxes of shifts between convex parts: the least gap is that of the best plane, not of the one drawn first."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from packcheck.arrays import Points
from packcheck.assembly.assembly import assemble
from packcheck.findings import Finding
from packcheck.frames import turn_matrix
from packcheck.proximity import Session
from packcheck.scene.model.scene import Anchor, Box, Clearances, Part, Scene, SolidSpec, Sphere
from packcheck.studies import gaps
from tests.oracles.bodies import PointHull
from tests.oracles.conic import closest

Triple = tuple[float, float, float]
MID: Anchor = ("mid", "mid", "mid")


def found_between(*parts: Part) -> Finding:
    """The finding of two parts that must stand 1 m apart."""
    named = {part.name: part for part in parts}
    scene = Scene("scene.yaml", parts=named, clearances=Clearances(default=1000, use="none"))
    (finding,) = gaps.run(assemble(scene), Session()).findings
    return finding


@pytest.mark.parametrize(("aside", "nearest"), [(10.0, 30.0), (50.0, float(np.hypot(30, 30)))])
def test_a_ball_shifted_sideways(aside: float, nearest: float) -> None:
    """Oracle: closed form. Shifted by up to 20 to the side, a ball 30 off stands no nearer than straight across."""
    ball = SolidSpec(Sphere(10.0), MID)
    unsure = Part("unsure", (ball,), at=(30, aside, 0), tolerance=(0, 20, 0), tolerance_is_ball=False)
    assert found_between(unsure, Part("ball", (ball,))).low == pytest.approx(nearest - 10, abs=0.01)


def corners(part: Part, size: Triple, off: bool) -> Points:
    half = np.array(list(product((-0.5, 0.5), repeat=3))) * size
    found = half @ turn_matrix(part.turn).T + part.at
    shifts = np.array(list(product((-1.0, 1.0), repeat=3))) * part.tolerance
    return (found[:, None] + shifts[None]).reshape(-1, 3) if off else found


def test_turned_boxes() -> None:
    """Oracle: a conic solver, of one box against the other with every corner of its shifts added (60 pairs)."""
    rng = np.random.default_rng(3)
    apart = 0
    for _ in range(60):
        sizes = [tuple(rng.uniform(10, 80, 3)) for _ in range(2)]
        ends = [np.zeros(3), rng.normal(size=3) * 70]
        bounds = rng.uniform(0, 15, 3)
        one, other = (
            Part(
                name,
                (SolidSpec(Box(size), MID),),
                at=tuple(at),
                turn=tuple(rng.uniform(-90, 90, 3)),
                tolerance=tuple(bounds) if name == "b" else (0, 0, 0),
                tolerance_is_ball=False,
            )
            for name, size, at in zip("ab", sizes, ends, strict=True)
        )
        found = found_between(one, other)
        worst = closest(PointHull(corners(one, sizes[0], False)), PointHull(corners(other, sizes[1], True)))
        assert found.low is not None and found.value is not None
        assert found.low <= worst.high + 1e-6
        if worst.low > 1 and found.value > 0:
            apart += 1
            assert found.low >= worst.low - 0.02 * (found.value - worst.low) - 0.01
    assert apart >= 20
