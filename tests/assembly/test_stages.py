"""Packers and slings are gone by the last check; what was measured from them stays where it was."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay, load
from packcheck.placing.stages import gone_by
from packcheck.scene.model.scene import Box, Part, Scene, SolidSpec, Stage

CUBE = (SolidSpec(Box((10.0, 10.0, 10.0)), ("mid", "mid", "mid")),)


def scene(stage: Stage | None) -> Scene:
    parts = [
        Part("packer", CUBE, at=(50.0, 0.0, 0.0), turn=(0.0, 0.0, 30.0), stage="mockup", tolerance=(2.0, 2.0, 2.0)),
        Part("wheel", CUBE, at=(500.0, 0.0, 0.0), stage="roller"),
        Part("block", CUBE, parent="packer", at=(0.0, 0.0, 10.0), bolted_to=("packer",)),
        Part("tray", CUBE, at=(0.0, 0.0, 0.0), bolted_to=("block",)),
    ]
    return Scene("bay.yaml", parts={part.name: part for part in parts}, stage=stage)


@pytest.mark.parametrize(
    ("stage", "gone"),
    [(None, ()), ("mockup", ()), ("roller", ("packer",)), ("final", ("packer", "wheel"))],
)
def test_parts_are_in_the_car_up_to_their_stage(stage: Stage | None, gone: tuple[str, ...]) -> None:
    assert gone_by(scene(stage)) == gone


def test_what_was_measured_from_a_packer_stays_where_it_was() -> None:
    """Oracle: the same scene with the packer in it."""
    before, after = assemble(scene("mockup")), assemble(scene("final"))
    for name in after.parts:
        assert np.array_equal(after.poses[name].rotation, before.poses[name].rotation)
        assert np.array_equal(after.poses[name].translation, before.poses[name].translation)
    assert list(after.parts) == ["block", "tray"]
    assert after.doubt("block", "tray").most == before.doubt("block", "tray").most == 2.0


def test_a_rough_packer_still_lends_its_slack_to_what_hangs_on_it() -> None:
    """Oracle: the README, 15 mm for `fit: about`."""
    rough = scene("final")
    packer = replace(rough.parts["packer"], fit="about", tolerance=(0.0, 0.0, 0.0))
    assembly = assemble(replace(rough, parts={**rough.parts, "packer": packer}))
    assert assembly.doubt("block", "tray").most == 15.0


def test_the_report_names_what_was_left_out_and_asks_nothing_of_it() -> None:
    report = Bay(assemble(scene("final"))).check(moves=False)
    assert "left out at the stage final: packer, wheel" in report.notes
    assert report.pairs.total == 1
    assert all(set(finding.subjects) == {"block", "tray"} for finding in report.findings)
    assert report.findings[0].where is None or report.findings[0].where.datum == "car"


BAY = """\
packcheck: 1
parts:
  packer: {box: [10, 10, 10], at: [0, 0, 0], stage: mockup, needs: {left: 20 mm}}
  block: {in: packer, box: [20, 20, 20], at: [0, 0, 15], needs: {top: 30 mm}, bolted_to: [packer]}
  lid: {box: [200, 200, 2], at: [0, 0, 60], kind: body}
  slave: {box: [5, 5, 5], at: [100, 0, 0], stage: roller, bolted_to: [lid], repeat: {count: 2, step: [10, 0, 0]}}
motions:
  lid_opens: {carries: [lid, slave.1], hinge: {through: [100, 0, 60], axis: y, from: 0, to: 40}}
measures:
  high: {height: {of: lid.bottom, above: packer.top}, must: 10}
  wide: {distance: {from: lid, to: block}, must: 1}
clearances:
  rules:
    - {between: [packer, lid], gap: 3 mm, lower: true, why: short}
"""


@pytest.mark.parametrize(
    ("stage", "parts", "pairs", "unasked"),
    [("mockup", 7, 21 - 5, False), ("roller", 5, 10 - 1, True), ("final", 3, 3 - 1, True)],
)
def test_whatever_names_a_part_that_is_gone_goes_or_stays_with_it(
    stage: Stage, parts: int, pairs: int, unasked: bool, tmp_path: Path
) -> None:
    """Needs, rows, joints, motions, measures and rules of what was left out. Oracle: the parts counted by hand, the
    room of each `needs` among them; air counts no pair with its part, its joints, or air."""
    path = tmp_path / "bay.yaml"
    path.write_text(BAY, encoding="utf-8")
    bay = load(path, stage=stage)
    report = bay.check()
    assert len(bay.assembly.parts) == parts
    assert report.pairs.total == pairs
    told = "not measured, since they are taken from what was left out: high" in report.notes
    assert told == unasked
    assert any(finding.subjects == ("wide",) for finding in report.findings)
    assert len(bay.inventory().rows) == parts
