"""Tolerances by axis in motion: no more of them is counted than can bring two parts together, and no less."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import assemble
from packcheck.assembly.boxed import summed
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.scene.model import Box, Clearances, Frame, Part, Scene, SolidSpec, Sphere
from packcheck.scene.motion import Hinge, Motion
from packcheck.solids.primitives import build_shape
from packcheck.studies import moving
from tests.assembly.moving_shapes import a_convex_shape

LID = Part("lid", (SolidSpec(Box((400.0, 300.0, 4.0)), ("mid", "mid", "mid")),), at=(200, 0, 100))
PUMP = Part("pump", (SolidSpec(Box((40.0, 40.0, 40.0)), ("mid", "mid", "mid")),), at=(150, 0, 340))
OPENS = Hinge((0, 0, 100), (0, 1, 0), (-40, 0))
Triple = tuple[float, float, float]


def looked(must: float, lid: Part, pump: Part, base: Frame) -> Finding:
    """The finding of a lid that swings about a line of the frame `base` towards a pump."""
    scene = Scene(
        "scene.yaml",
        frames={"base": base},
        parts={"lid": lid, "pump": pump},
        motions={"opens": Motion("opens", ("lid",), OPENS, frame="base")},
        clearances=Clearances(default=2 * must, use="none"),
    )
    (finding,) = moving.run(assemble(scene), Session()).findings
    return finding


def boxed(part: Part, by: Triple, parent: str = "car") -> Part:
    return replace(part, tolerance=by, tolerance_is_ball=False, parent=parent)


def test_a_shift_along_the_hinge_takes_nothing_off_the_gap() -> None:
    """Oracle: geometry. The lid is 300 wide, the pump 40: 20 to the side changes nothing."""
    base = Frame("base")
    plain = looked(1, LID, PUMP, base)
    assert plain.value is not None
    found = looked(plain.value - 3, LID, boxed(PUMP, (0, 20, 0)), base)
    assert found.verdict is Verdict.PASS
    assert found.low == pytest.approx(plain.value, abs=0.06)
    short = looked(plain.value - 3, LID, boxed(PUMP, (0, 0, 20)), base)
    assert short.verdict is Verdict.UNSURE


@pytest.mark.parametrize(
    ("lid_by", "pump_by", "base_by", "lid_in", "pump_in"),
    [
        ((0, 9, 1), (2, 9, 0), (0, 0, 0), "car", "car"),
        ((0, 0, 0), (0, 0, 0), (1, 9, 2), "base", "car"),  # what carries lid and line
        ((0, 0, 0), (0, 0, 0), (2, 9, 1), "car", "base"),  # what carries line and pump
    ],
)
def test_no_corner_of_the_boxes_brings_the_parts_nearer_than_is_said(
    lid_by: Triple, pump_by: Triple, base_by: Triple, lid_in: str, pump_in: str
) -> None:
    """Oracle: brute force: the scene with everything at the corners of its boxes, searched anew. The least of them
    is near what is said, which counts along the gap alone."""
    plain = looked(1, LID, PUMP, Frame("base"))
    assert plain.value is not None
    base = Frame("base", tolerance=base_by, tolerance_is_ball=False)
    found = looked(plain.value - 6, boxed(LID, lid_by, lid_in), boxed(PUMP, pump_by, pump_in), base)
    assert found.low is not None
    least = np.inf
    for signs in product((-1, 1), repeat=3):
        for other in (1, -1):
            lid = replace(LID, at=shifted(LID.at, signs, lid_by), parent=lid_in)
            pump = replace(PUMP, at=shifted(PUMP.at, signs, pump_by, other), parent=pump_in)
            true = looked(1, lid, pump, Frame("base", at=shifted((0, 0, 0), signs, base_by)))
            assert true.value is not None
            least = min(least, true.value)
    assert found.low <= least + 0.06
    assert found.low >= least - 0.6


def shifted(at: Triple, signs: tuple[int, ...], by: Triple, other: int = 1) -> Triple:
    x, y, z = (float(a + other * s * b) for a, s, b in zip(at, signs, by, strict=True))
    return x, y, z


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_sum_of_a_solid_and_a_box_reaches_as_far_as_both_together(seed: int) -> None:
    """Oracle: closed form: the support of a sum is the sum of the supports, that of a box is its farthest corner's;
    the triangles reach as far, to within the error of the facets."""
    rng = np.random.default_rng(seed)
    (solid,) = build_shape(a_convex_shape(rng))
    box = np.linalg.qr(rng.normal(size=(3, 3)))[0] * rng.uniform(0.5, 20, (3, 1))
    larger = summed(solid, box[None])
    assert larger is not None and larger.support is not None and solid.support is not None
    ways = rng.normal(size=(50, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    corners = np.array(list(product((-1, 1), repeat=3))) @ box
    expected = np.einsum("ij,ij->i", solid.support(ways), ways) + (ways @ corners.T).max(axis=1)
    assert np.einsum("ij,ij->i", larger.support(ways), ways) == pytest.approx(expected)
    assert (ways @ larger.vertices.T).max(axis=1) == pytest.approx(expected, abs=2 * solid.error + 1e-9)
    a, b, c = (larger.vertices[larger.faces[:, k]] for k in range(3))
    assert float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) > 0


def test_a_flat_sum_is_left_to_the_diagonals() -> None:
    (ball,) = build_shape(Sphere(20))
    assert summed(ball, np.diag([0.0, 0.0, 5.0])[None]) is None
