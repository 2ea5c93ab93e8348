"""Parts in the pose that decides a finding, against the finding's own witness points and closed forms."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

import packcheck
from packcheck.moving.stances import stance
from packcheck.report.as_json import as_json
from packcheck.report.page_model import model_data
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.finding import figure

SCENE = """packcheck: 1
parts:
  lid: {kind: body, box: [200, 100, 10], at: [100, 0, 100]}
  latch: {in: lid, box: [20, 20, 20], at: [90, 0, -15]}
  post: {kind: structure, box: [20, 300, 300], at: [-60, 0, 200]}
  slider: {kind: engine, box: [40, 40, 40], at: [100, 300, 0]}
  stop: {box: [40, 40, 40], at: [100, 400, 0]}
motions:
  opens: {carries: [lid], hinge: {through: [0, 0, 100], axis: y, from: 0, to: -100}, during: service}
  slides: {carries: [slider], travel: {by: [0, 1, 0], from: 0, to: 55}}
clearances: {use: none, default: 10 mm}
"""


@pytest.fixture(scope="module")
def bay(tmp_path_factory: pytest.TempPathFactory) -> packcheck.Bay:
    path = tmp_path_factory.mktemp("stances") / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return packcheck.load(path)


def test_a_hinged_part_and_what_hangs_on_it_turn_about_the_hinge(bay: packcheck.Bay) -> None:
    """Oracle: closed form. Opened by -90 degrees about y at z = 100, a point x ahead of the hinge is x above."""
    model = bay.model()
    moved = {s.name: stance(bay.assembly, {"opens": -90.0}).carry(s) for s in model.surfaces}
    assert moved["lid"].vertices[:, 2].max() == pytest.approx(300.0)
    assert moved["lid"].vertices[:, 0].min() == pytest.approx(-5.0)
    assert moved["latch"].vertices.mean(axis=0) == pytest.approx([15.0, 0.0, 290.0])
    assert (moved["post"].vertices == next(s for s in model.surfaces if s.name == "post").vertices).all()


def test_every_finding_that_moves_has_its_witness_points_on_the_posed_parts(bay: packcheck.Bay) -> None:
    """Oracle: a second library's distance of the points from the surfaces in that pose."""
    report = bay.check(moves=False)
    model = bay.model(report)
    moving = [finding for finding in report.findings if finding.pose]
    assert moving
    for finding in moving:
        assert finding.points is not None
        surfaces = {surface.name: surface for surface in model.at(finding.pose).surfaces}
        for point, name in zip(finding.points, finding.subjects, strict=True):
            mesh = trimesh.Trimesh(surfaces[name].vertices, surfaces[name].faces)
            measured: Any = trimesh.proximity.closest_point_naive(mesh, point[None])  # type: ignore[no-untyped-call]
            distance = measured[1][0]
            if finding.value is not None and finding.value > 0:
                assert distance < 0.1


def test_the_page_goes_to_the_pose_and_says_so(bay: packcheck.Bay) -> None:
    report = bay.check(moves=False)
    model = bay.model(report)
    moving = next(finding for finding in report.findings if finding.pose and finding.study == "moving")
    data = json.loads(model_data([moving], model, Onlooker(model), "mm"))
    matrix = np.array(data["stances"][data["findings"][0]["stance"]][moving.subjects[0]]).reshape(4, 4).T
    assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0, abs=1e-5)
    drawn = figure(moving, model, Onlooker(model), "mm")
    assert drawn is not None
    assert not drawn.at_rest
    without = figure(moving, bay.model(), Onlooker(model), "mm")
    assert without is not None
    assert without.at_rest
    assert as_json(report, version="0.1.0")


def test_at_rest_nothing_is_carried(bay: packcheck.Bay) -> None:
    model = bay.model(bay.check(moves=False))
    assert model.at({}) is model
    assert model.at({"unheard_of": 3.0}) is model


def test_the_pose_of_a_path_is_that_of_its_stops(tmp_path: Path) -> None:
    """Oracle: closed form. Half way from the first stop to the second, and at the last."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nparts: {gate: {box: [10, 10, 10], at: [0, 0, 0]}}\nmotions:\n"
        "  goes: {carries: [gate], path: [{at: [0, 0, 0]}, {at: [40, 0, 0]}, {at: [40, 60, 0]}]}\n".replace(
            "\\\n", "\n"
        ),
        encoding="utf-8",
    )
    bay = packcheck.load(path)
    (gate,) = bay.model().surfaces
    for value, at in ((1.5, [20, 0, 0]), (3.0, [40, 60, 0]), (2.25, [40, 15, 0])):
        moved = stance(bay.assembly, {"goes": value}).carry(gate)
        assert moved.vertices.mean(axis=0) == pytest.approx(at, abs=1e-9)
