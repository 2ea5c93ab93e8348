"""Volume, middle and inertia of every shape against the formulas of the textbooks and a second library."""

from __future__ import annotations

from math import pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from packcheck.arrays import Matrix3, Points
from packcheck.frames import Pose
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Extrude, Mesh, Pipe, Shape, Sphere, Tube
from packcheck.solids.bulk import Bulk, added, of_triangles
from packcheck.solids.bulk_shapes import hollow, shape_bulk
from packcheck.solids.meshes.files import read_mesh
from packcheck.solids.primitives import build_shape

MESHES = Path(__file__).parents[2] / "meshes_demo"


def bulk_of(shape: Shape) -> Bulk:
    made = shape_bulk(shape, build_shape(shape))
    assert made is not None
    return made


def per_mass(bulk: Bulk) -> Matrix3:
    return bulk.inertia() / bulk.volume


def test_cylinder_of_the_textbook() -> None:
    """Oracle: textbook (solid cylinder, m 10 kg, r 0.1 m, h 0.4 m: m r^2 / 2 = 0.05, m (3 r^2 + h^2) / 12 =
    0.158333 kg m^2)."""
    bulk = bulk_of(Cylinder(200, 400, "x"))
    about = 10 * per_mass(bulk) * 1e-6
    assert np.diag(about) == pytest.approx([0.05, 0.158333, 0.158333], abs=5e-7)
    assert bulk.volume == pytest.approx(pi * 100**2 * 400)
    assert bulk.area == pytest.approx(2 * pi * 100 * (100 + 400))


def test_box_sphere_and_thin_tube_of_the_textbook() -> None:
    """Oracle: textbook: m (b^2 + c^2) / 12; 2 m r^2 / 5; m (r1^2 + r2^2) / 2 about the axis."""
    box = bulk_of(Box((30, 40, 50)))
    assert np.diag(per_mass(box)) == pytest.approx(
        [(40**2 + 50**2) / 12, (30**2 + 50**2) / 12, (30**2 + 40**2) / 12]
    )
    sphere = bulk_of(Sphere(80))
    assert np.diag(per_mass(sphere)) == pytest.approx([2 * 40**2 / 5] * 3)
    assert sphere.volume == pytest.approx(4 / 3 * pi * 40**3)
    assert sphere.area == pytest.approx(4 * pi * 40**2)
    tube = bulk_of(Tube(50, 46, 100, "y"))
    assert per_mass(tube)[1, 1] == pytest.approx((25**2 + 23**2) / 2)
    assert tube.area == pytest.approx(2 * pi * (25 + 23) * 100 + 2 * pi * (25**2 - 23**2))


def test_cone_of_the_textbook() -> None:
    """Oracle: textbook: volume pi r^2 h / 3, middle h / 4 above the base, 3 m r^2 / 10 about the axis."""
    bulk = bulk_of(Cone(60, 0, 120))
    assert bulk.volume == pytest.approx(pi * 30**2 * 120 / 3)
    assert bulk.middle == pytest.approx([0, 0, -60 + 30])
    assert per_mass(bulk)[2, 2] == pytest.approx(3 * 30**2 / 10)


def test_parallel_axes() -> None:
    """Oracle: textbook: I = I_c + m d^2, on two balls 200 mm apart."""
    ball = bulk_of(Sphere(20))
    pair = added(ball.placed(Pose.of((x, 0, 0))) for x in (-100, 100))
    about = np.diag(pair.inertia() / ball.volume)
    assert about == pytest.approx([2 * 40, 2 * (40 + 100**2), 2 * (40 + 100**2)])


SHAPES: list[Shape] = [
    Box((30, 40, 50)),
    Cylinder(30, 80, "y"),
    Cone(60, 25, 70, "x"),
    Tube(40, 30, 60),
    Extrude(((0, 0), (50, 0), (50, 10), (10, 10), (10, 50), (0, 50)), 8, "y"),
]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_shapes_against_another_library(shape: Shape) -> None:
    """Oracle: second method: trimesh's mass properties of the facets, which stay within 0.00025 mm of the face."""
    solids = build_shape(shape)
    mesh = trimesh.Trimesh(solids[0].vertices, solids[0].faces, process=False)
    bulk = bulk_of(shape)
    assert bulk.volume == pytest.approx(mesh.volume, rel=1e-4)
    assert bulk.area == pytest.approx(mesh.area, rel=1e-4)
    assert bulk.middle == pytest.approx(mesh.center_mass, abs=0.001)
    assert bulk.inertia() == pytest.approx(mesh.moment_inertia, rel=2e-4, abs=2e-4 * mesh.moment_inertia.max())


def sampled(shape: Pipe) -> tuple[float, Points, Matrix3]:
    """Volume, middle and inertia per mass of a bent pipe from points: brute force, one in each 0.5 mm cube.

    Holds for bends that leave the bar's ends straight for a radius, on right-angled corners in one plane.
    """
    through, bend, radius = np.array(shape.through), shape.bend, shape.outside / 2
    step = 0.5
    low, high = through.min(axis=0) - radius - 1, through.max(axis=0) + radius + 1
    axes = [np.arange(a, b, step) + step / 2 for a, b in zip(low, high, strict=True)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    points = points + np.random.default_rng(1).uniform(-step / 2, step / 2, points.shape)
    corner = through[1]
    arriving = (corner - through[0]) / np.linalg.norm(corner - through[0])
    leaving = (through[2] - corner) / np.linalg.norm(through[2] - corner)
    hub = corner - bend * arriving + bend * leaving
    away = points - hub
    on_arc = (away @ arriving > 0) & (away @ leaving < 0)
    flat = np.hypot(away @ arriving, away @ leaving)
    normal = np.cross(arriving, leaving)
    from_arc = np.hypot(flat - bend, points @ normal - hub @ normal)
    distance = np.full(len(points), np.inf)
    for start, end in ((through[0], hub - bend * leaving), (hub + bend * arriving, through[2])):
        way = (end - start) / np.linalg.norm(end - start)
        along = (points - start) @ way
        beside = np.linalg.norm(points - start - along[:, None] * way, axis=1)
        distance = np.where(
            (along >= 0) & (along <= np.linalg.norm(end - start)), np.minimum(distance, beside), distance
        )
    distance = np.where(on_arc, np.minimum(distance, from_arc), distance)
    held = points[distance <= radius]
    middle = held.mean(axis=0)
    off = held - middle
    second = off.T @ off / len(held)
    return len(held) * step**3, middle, np.trace(second) * np.eye(3) - second


def test_a_bent_pipe_against_counted_points() -> None:
    """Oracle: brute force: a point at random in each 0.5 mm cube, counted inside a bar of one bend."""
    shape = Pipe(16, ((0, 0, 0), (60, 0, 0), (60, 50, 0)), 25)
    volume, middle, inertia = sampled(shape)
    bulk = bulk_of(shape)
    assert bulk.volume == pytest.approx(volume, rel=3e-3)
    assert bulk.middle == pytest.approx(middle, abs=0.05)
    assert per_mass(bulk) == pytest.approx(inertia, rel=3e-3, abs=2.0)


def test_the_volume_of_a_bar_is_its_section_times_its_centreline() -> None:
    """Oracle: Pappus: section times the way of its middle; a quarter bend of 25 mm is 39.27 mm long."""
    shape = Pipe(16, ((0, 0, 0), (60, 0, 0), (60, 50, 0)), 25)
    length = 35 + 25 * pi / 2 + 25
    assert bulk_of(shape).volume == pytest.approx(pi * 8**2 * length)
    walls = hollow(shape, build_shape(shape), 2.0)
    assert isinstance(walls, Bulk)
    assert bulk_of(shape).volume - walls.volume == pytest.approx(pi * (8**2 - 6**2) * length)


def test_a_mitred_pipe_against_another_library() -> None:
    """Oracle: second method: trimesh's mass properties of the facets of each leg, cut on the halving plane."""
    shape = Pipe(20, ((0, 0, 0), (80, 0, 0), (110, 60, 30)), 0)
    meshes = [trimesh.Trimesh(s.vertices, s.faces, process=False) for s in build_shape(shape)]
    volume = sum(mesh.volume for mesh in meshes)
    middle = sum(mesh.volume * mesh.center_mass for mesh in meshes) / volume
    bulk = bulk_of(shape)
    assert bulk.volume == pytest.approx(volume, rel=1e-4)
    assert bulk.middle == pytest.approx(middle, abs=0.003)
    whole: Any = trimesh.util.concatenate(meshes)
    assert bulk.inertia() == pytest.approx(whole.moment_inertia, rel=3e-4, abs=3e-4 * whole.moment_inertia.max())


@pytest.mark.parametrize("name", ["exhaust_manifold.stl", "alternator.obj", "gearbox_casing.ply"])
def test_meshes_against_another_library(name: str) -> None:
    """Oracle: second method: trimesh's mass properties of the same triangles, far from the zero and turned."""
    solid = read_mesh(Mesh(MESHES / name, 1.0, "mm"), use_cache=False).solid
    pose = Pose.of((900, -400, 300), (10, 20, 30))
    mesh = trimesh.Trimesh(pose.apply(solid.vertices), solid.faces, process=False)
    bulk = of_triangles(solid.vertices, solid.faces, solid.error).placed(pose)
    assert bulk.volume == pytest.approx(mesh.volume, rel=1e-9)
    assert bulk.middle == pytest.approx(mesh.center_mass, abs=1e-6)
    assert bulk.inertia() == pytest.approx(mesh.moment_inertia, rel=1e-6, abs=1e-6 * mesh.moment_inertia.max())
    assert bulk.low <= bulk.volume <= bulk.high


def test_an_open_mesh_has_no_volume_and_its_skin_has() -> None:
    """Oracle: by head: a skin 3 mm thick holds about its area times 3 mm, folds aside."""
    file = MESHES / "rear_deck.obj"
    bare = Mesh(file, 1.0, "mm")
    assert shape_bulk(bare, [read_mesh(bare).solid]) is None
    skin = Mesh(file, 1.0, "mm", thickness=3.0, side="outer")
    thick = shape_bulk(skin, [read_mesh(skin).solid])
    surface = trimesh.load_mesh(file)
    assert thick is not None and thick.volume == pytest.approx(3 * surface.area, rel=0.02)


@pytest.mark.parametrize(
    ("shape", "inside"),
    [
        (Box((100, 80, 60)), 96 * 76 * 56),
        (Cylinder(50, 120), pi * 23**2 * 116),
        (Sphere(64), 4 / 3 * pi * 30**3),
        (Capsule(40, 100), pi * 18**2 * 60 + 4 / 3 * pi * 18**3),
    ],
)
def test_what_walls_of_2_mm_leave_inside(shape: Shape, inside: float) -> None:
    """Oracle: closed form: the same shape, 2 mm smaller all round."""
    made = hollow(shape, build_shape(shape), 2.0)
    assert isinstance(made, Bulk) and made.volume == pytest.approx(inside)


def test_walls_of_a_mesh_against_the_box_it_is(tmp_path: Path) -> None:
    """Oracle: closed form: a box of 100 x 80 x 60 as a mesh, with walls of 2 mm, holds 96 x 76 x 56."""
    trimesh.creation.box((100, 80, 60)).export(tmp_path / "box.stl")
    shape = Mesh(tmp_path / "box.stl", 1.0, "mm")
    made = hollow(shape, [read_mesh(shape, use_cache=False).solid], 2.0)
    assert isinstance(made, Bulk) and made.volume == pytest.approx(96 * 76 * 56, rel=1e-6)
    assert made.low <= 96 * 76 * 56 <= made.high


@pytest.mark.parametrize("shape", [Box((3, 100, 100)), Pipe(3, ((0, 0, 0), (9, 0, 0))), Cone(40, 20, 30)])
def test_walls_that_cannot_be_reckoned_are_told(shape: Shape) -> None:
    assert isinstance(hollow(shape, build_shape(shape), 2.0), str)
