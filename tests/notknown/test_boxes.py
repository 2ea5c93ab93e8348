"""Tolerances by axis in motion: no more of them is counted than can bring two parts together, and no less."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.scene.model.motion import Hinge, Motion
from packcheck.scene.model.scene import Box, Clearances, Frame, Part, Scene, SolidSpec
from packcheck.studies import moving

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
