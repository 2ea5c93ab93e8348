"""The map of places against closed forms and brute force: what fits misses no limit anywhere in its cell."""

from __future__ import annotations

from itertools import product
from pathlib import Path
from typing import Any

import fcl
import numpy as np
import pytest
import trimesh
from scipy.ndimage import binary_erosion

import packcheck
from packcheck.arrays import Floats, frozen
from packcheck.bay import Bay
from packcheck.frames import IDENTITY, Pose, turn_matrix
from packcheck.proximity import Placed
from packcheck.scene.model.scene import (
    Box,
    Capsule,
    Cylinder,
    Frame,
    Mesh,
    Part,
    Pipe,
    Shape,
    SolidSpec,
    Sphere,
    Tube,
)
from packcheck.scene.model.survey import Uncertainty
from packcheck.search import FITS, NOT, UNDECIDED
from packcheck.solids.core.solid import Solid
from packcheck.studies.mapping import Margins, Region, region
from packcheck.trial.barriers import Shifted
from packcheck.trial.trial import Trial
from tests.bays import bay, part, random_shape
from tests.benchmarks.baselines import bare_distance, standing
from tests.benchmarks.place_map import crowded_cube, mapped_cube
from tests.oracles.triangles import Soup, winding_number

LIMIT = 10.0  # mm, the default of the bays made here
SLACK = 0.02  # mm; what a limit may be missed by and still be called kept, rounding and facets included


def mapped(
    made: Bay, low: tuple[float, ...], high: tuple[float, ...], cell: float, turn: tuple[float, ...] = (0, 0, 0)
) -> Region:
    shifted = Shifted(Trial(made.assembly, made.session, "it"), turn_matrix(turn), cell)
    return region("now", shifted, (np.array(low, dtype=float), np.array(high, dtype=float)))


def meshed(name: str, mesh: Any, folder: Path) -> Part:
    """A part of a mesh where its own coordinates have it."""
    mesh.export(folder / f"{name}.stl")
    return Part(name, (SolidSpec(Mesh(folder / f"{name}.stl", 1.0, "mm"), "origin"),))


def corners(one: Region, state: int) -> Floats:
    """Least and greatest corners (n, 2, 3) of the cells in a state."""
    low = one.grid.low + np.argwhere(one.states == state) * one.grid.cell
    return np.stack([low, low + one.grid.cell], axis=1)


def nearest_and_farthest(cells: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Least and greatest distance, (n,) mm, of points of cells (n, 2, 3) from a box; brute force over corners."""
    apart = np.maximum(0, np.maximum(low - cells[:, 1], cells[:, 0] - high))
    spots = np.stack([cells[:, list(pick), range(3)] for pick in product((0, 1), repeat=3)], axis=1)
    far = np.linalg.norm(np.maximum(0, np.maximum(low - spots, spots - high)), axis=2).max(axis=1)
    return np.linalg.norm(apart, axis=1), far


def held(one: Region, low: Floats, high: Floats, limit: float, loose: float) -> None:
    """Every state against the closed form that a position is good from `limit` mm from a box on, and no nearer."""
    near, _ = nearest_and_farthest(corners(one, FITS), low, high)
    assert len(near) and near.min() >= limit - SLACK
    _, far = nearest_and_farthest(corners(one, NOT), low, high)
    assert len(far) and far.max() < limit + SLACK
    near, far = nearest_and_farthest(corners(one, UNDECIDED), low, high)
    assert (near < limit + loose).all() and (far > limit - loose).all()


def test_balls_fit_where_their_middles_are_far_enough_apart() -> None:
    """Oracle: closed form. Diameters 60 and 40 and a limit of 10: middles 60 mm apart."""
    made = bay(part("it", Sphere(60), at=(500, 0, 0)), part("other", Sphere(40)))
    held(mapped(made, (-97, -103, -99), (101, 97, 100), 10), np.zeros(3), np.zeros(3), 60, 1.5)


@pytest.mark.parametrize("cell", [7.0, 25.0])
def test_a_box_beside_a_box_fits_outside_of_their_sum(cell: float) -> None:
    """Oracle: closed form. The gap of boxes square to each other is the distance from the box of their sum."""
    made = bay(part("it", Box((20, 30, 40)), at=(500, 0, 0)), part("other", Box((100, 60, 20))))
    half = np.array([60, 45, 30])
    held(mapped(made, (-110, -100, -90), (110, 100, 90), cell), -half, half, LIMIT, 1.5)


def test_a_turn_counts() -> None:
    """Oracle: closed form. Turned by 90 degrees about z, sides of 20 and 60 change places."""
    made = bay(part("it", Box((20, 60, 40)), at=(500, 0, 0)), part("other", Box((100, 60, 20))))
    half = np.array([80, 40, 30])
    held(mapped(made, (-130, -100, -80), (130, 100, 80), 8, (0, 0, 90)), -half, half, LIMIT, 1.5)


def test_the_place_is_that_of_the_middle_of_the_box_of_the_part() -> None:
    """Oracle: closed form. Placed by its least corner, the part's zero is 10, 15, 20 mm off its middle."""
    it = Part("it", (SolidSpec(Box((20, 30, 40)), ("min", "min", "min")),), at=(500, 0, 0))
    made = bay(it, part("other", Box((100, 60, 20))))
    half = np.array([60, 45, 30])
    one = mapped(made, (-110, -100, -90), (110, 100, 90), 15)
    held(one, -half, half, LIMIT, 2.0)
    assert one.shifted.pose(np.array([5.0, 6.0, 7.0])).translation == pytest.approx([-5, -9, -13], abs=1e-6)


def test_a_fin_thinner_than_a_cell_is_never_inside_what_fits() -> None:
    """Oracle: closed form. A fin 0.5 mm thick inside cells of 40 mm: a ball of 20 keeps 20 mm from it."""
    made = bay(part("it", Sphere(20), at=(500, 0, 0)), part("fin", Box((0.5, 300, 300)), at=(33, 0, 0)))
    one = mapped(made, (-100, -100, -100), (100, 100, 100), 40)
    cells = corners(one, FITS)
    assert len(cells)
    assert not ((cells[:, 0, 0] < 33.25 + 20 - SLACK) & (cells[:, 1, 0] > 32.75 - 20 + SLACK)).any()
    assert (one.states != FITS).any()


def test_a_fin_of_a_mesh_is_never_inside_what_fits_either(tmp_path: Path) -> None:
    """Oracle: closed form, as above, of a plate of 12 triangles with a block far off in one mesh."""
    fin = trimesh.creation.box((0.5, 300, 300))
    fin.apply_translation((33, 0, 0))
    block = trimesh.creation.box((20, 20, 20))
    block.apply_translation((-300, 0, 0))
    mesh = meshed("fin", trimesh.util.concatenate([fin, block]), tmp_path)
    made = bay(part("it", Sphere(20), at=(500, 0, 0)), mesh)
    one = mapped(made, (-100, -100, -100), (100, 100, 100), 8)
    cells = corners(one, FITS)
    away = np.maximum(33 - 0.25 - cells[:, 1, 0], cells[:, 0, 0] - 33.25)
    assert len(cells) and away.min() >= 20 - SLACK
    bad = corners(one, NOT)
    assert len(bad) and np.maximum(np.abs(bad[:, :, 0] - 33).max(axis=1) - 0.25, 0).max() < 20 + SLACK


def test_deep_inside_a_mesh_nothing_fits(tmp_path: Path) -> None:
    """Oracle: closed form. A closed ball of 400 holds what stands within its radius, surfaces far apart."""
    shell = meshed("shell", trimesh.creation.icosphere(subdivisions=3, radius=200), tmp_path)
    made = bay(part("it", Sphere(20), at=(900, 0, 0)), shell)
    one = mapped(made, (-240, -60, -60), (240, 60, 60), 12)
    distances = np.linalg.norm(one.grid.middles(np.argwhere(one.states == FITS)), axis=1)
    assert len(distances) and distances.min() > 200
    inner = np.linalg.norm(one.grid.middles(np.argwhere(one.states != NOT)), axis=1)
    assert inner.min() > 180


def test_within_a_hollow_part_there_is_room() -> None:
    """Oracle: closed form. In a tube of bore 200 a ball of 20 keeps 10 mm from it up to 80 mm from its axis."""
    made = bay(part("it", Sphere(20), at=(900, 0, 0)), part("duct", Tube(240, 200, 600)))
    one = mapped(made, (-130, -130, -50), (130, 130, 50), 10)
    cells = corners(one, FITS)
    far = np.linalg.norm(np.abs(cells[:, :, :2]).max(axis=1), axis=1)
    within = np.linalg.norm(cells.mean(axis=1)[:, :2], axis=1) < 110
    assert within.any() and far[within].max() <= 80 + SLACK
    assert far[within].min() < 20


def test_an_open_surface_leaves_what_it_may_enclose_undecided(tmp_path: Path) -> None:
    """Oracle: the promise. What is inside of an open mesh without thickness and side nobody knows."""
    half = trimesh.creation.icosphere(subdivisions=3, radius=200)
    half.update_faces(half.triangles_center[:, 2] < 60)
    made = bay(part("it", Sphere(20), at=(900, 0, 0)), meshed("bowl", half, tmp_path))
    one = mapped(made, (-50, -50, -50), (50, 50, 0), 10)
    assert (one.states == UNDECIDED).all()
    above = mapped(made, (-50, -50, 100), (50, 50, 150), 10)
    assert (above.states == FITS).all()


class Bare:
    """Gaps of "it" from single parts by one query of all their triangles; an engine and a code of its own."""

    def __init__(self, made: Bay) -> None:
        self.it, self.pose = made.assembly.parts["it"], made.assembly.poses["it"]
        self.middle = np.mean(self.it.box(), axis=0)
        self.own = [standing(solid, IDENTITY) for solid in self.it.solids]
        others = [placed for name, placed in made.assembly.parts.items() if name != "it"]
        self.others = [(placed, [standing(solid, placed.pose) for solid in placed.solids]) for placed in others]

    def gap(self, position: Floats) -> float:
        """The least gap, mm, as far as 20 mm; -1 where a first corner lies inside another part."""
        there = self.pose.shifted(frozen(position - self.middle))
        for one in self.own:
            one.thing.setTransform(fcl.Transform(there.rotation, there.translation))
        best = 20.0
        for placed, theirs in self.others:
            boxes = np.array(self.it.at(there).box()), np.array(placed.box())
            if np.max([boxes[0][0] - boxes[1][1], boxes[1][0] - boxes[0][1]]) > best:
                continue
            best = min(best, *(bare_distance(a, b) for a in self.own for b in theirs))
            several = len(self.it.solids) * len(placed.solids) > 1
            if (several or nested(*boxes) or nested(*boxes[::-1])) and (
                self.holds(self.it.solids, there, placed)
                or self.holds(placed.solids, placed.pose, self.it.at(there))
            ):
                return -1.0
        return best

    @staticmethod
    def holds(inner: tuple[Solid, ...], pose: Pose, outer: Placed) -> bool:
        """Whether a first corner lies inside of a solid of `outer`."""
        points = [pose.apply(solid.vertices[:1])[0] for solid in inner]
        soups = [Soup(outer.pose.apply(solid.vertices), solid.faces) for solid in outer.solids if solid.closed]
        return any(abs(winding_number(point, soup)) > 0.5 for point in points for soup in soups)


def nested(inner: Floats, outer: Floats) -> bool:
    """Whether one box (2, 3) lies within another."""
    return bool((inner[0] >= outer[0]).all() and (inner[1] <= outer[1]).all())


PIPE = Pipe(24.0, ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0)), 40.0)
MOVED: dict[str, Shape] = {
    "cylinder": Cylinder(40, 70),
    "capsule": Capsule(30, 90),
    "pipe": PIPE,
    "tube": Tube(60, 40, 50),
}


@pytest.mark.parametrize("name", MOVED)
def test_random_positions_in_proven_cells_are_as_proven(name: str) -> None:
    """Oracle: second method. Bare distances of all triangles at random positions, with winding numbers."""
    rng = np.random.default_rng(sorted(MOVED).index(name))
    crowd = [
        part(f"p{k}", random_shape(rng), at=tuple(rng.uniform(-150, 150, 3)), turn=tuple(rng.uniform(0, 360, 3)))
        for k in range(7)
    ]
    made = bay(part("it", MOVED[name], at=(900, 0, 0), turn=(20, 30, 40)), *crowd)
    one = mapped(made, (-150, -150, -150), (150, 150, 150), 20, (20, 30, 40))
    assert wrong(made, one, rng, 40) == 0


def wrong(made: Bay, one: Region, rng: np.random.Generator, count: int) -> int:
    """How many of `count` random positions in cells that fit, and in cells that do not, are not so.

    Half of them are taken from cells beside others.
    """
    bare, found = Bare(made), 0
    for state in (FITS, NOT):
        alike = one.states == state
        cells, border = np.argwhere(alike), np.argwhere(alike & ~binary_erosion(alike))
        assert len(cells) and len(border)
        half = count // 2
        chosen = [cells[rng.integers(0, len(cells), half)], border[rng.integers(0, len(border), count - half)]]
        for cell in np.concatenate(chosen):
            gap = bare.gap(one.grid.low + (cell + rng.uniform(0, 1, 3)) * one.grid.cell)
            found += gap < LIMIT - SLACK if state == FITS else gap >= LIMIT + SLACK
    return found


@pytest.mark.parametrize("seed", [3])
def test_random_positions_among_meshes_are_as_proven(seed: int) -> None:
    """Oracle: second method, as above, among six meshes of 5 000 triangles and forty plain shapes."""
    with crowded_cube(seed) as made:
        assert wrong(made, mapped_cube(made, 20.0), np.random.default_rng(seed), 150) == 0


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(11, 16))
def test_a_hundred_thousand_random_positions_are_as_proven(seed: int) -> None:
    """Oracle: second method, as above: 20 000 positions of each of five cubes, cells of 10 mm."""
    with crowded_cube(seed) as made:
        assert wrong(made, mapped_cube(made, 10.0), np.random.default_rng(seed), 10_000) == 0


FLAP = """packcheck: 1
parts:
  flap: {box: [400, 300, 4], at: [200, 0, 0], kind: body}
  it: {sphere: {diameter: 40}, at: [0, 0, 900], kind: coolant}
clearances: {use: none, rules: [{between: [flap, it], gap: 20, moving: 10}]}
motions:
  opens: {carries: flap, hinge: {through: [0, 0, 0], axis: y, from: 0, to: -70}, during: service}
"""


def flap_gap(position: Floats, angle: float) -> float:
    """The gap of the ball at a position from the flap, `angle` degrees up about y through zero; closed form."""
    at = turn_matrix((0.0, -angle, 0.0)).T @ position
    away = np.abs(at - [200.0, 0, 0]) - [200, 150, 2]
    return float(np.linalg.norm(np.maximum(away, 0)) + min(away.max(), 0.0)) - 20


def test_what_moves_past_counts_all_over_its_motion(tmp_path: Path) -> None:
    """Oracle: closed form of the flap's gap, at 281 angles; the limit is 20 at rest and 10 in motion."""
    (tmp_path / "flap.yaml").write_text(FLAP, encoding="utf-8")
    one = mapped(packcheck.load(tmp_path / "flap.yaml"), (-60, -40, -80), (500, 40, 440), 20)
    rng = np.random.default_rng(5)
    angles = np.linspace(0, 70, 281)
    for state in (FITS, NOT, UNDECIDED):
        cells = np.argwhere(one.states == state)
        assert len(cells)
        for cell in cells[rng.integers(0, len(cells), 60)]:
            position = one.grid.low + (cell + rng.uniform(0, 1, 3)) * one.grid.cell
            left = min(flap_gap(position, 0.0) - 20, *(flap_gap(position, angle) - 10 for angle in angles))
            if state == FITS:
                assert left >= -SLACK
            elif state == NOT:
                assert left < 1.0  # what the angles between those asked may hide
            else:
                assert abs(left) < 2 * one.grid.radius + 10
    swept = one.states[tuple(((np.array([200.0, 0, 150]) - one.grid.low) / one.grid.cell).astype(int))]
    assert swept == NOT and one.untold == ()


def test_motions_of_the_part_itself_are_told_to_be_left_out(tmp_path: Path) -> None:
    """Oracle: the promise."""
    (tmp_path / "flap.yaml").write_text(FLAP.replace("carries: flap", "carries: it"), encoding="utf-8")
    one = mapped(packcheck.load(tmp_path / "flap.yaml"), (-60, -40, -80), (500, 40, 440), 40)
    assert one.untold == ("opens",)


def test_what_is_only_likely_takes_its_share_wherever_the_part_stands() -> None:
    """Oracle: closed form. Its frame may be off by 0.5 mm and turned by 0.2 degrees, 1.96 times over: the farther
    from the frame the part may stand, the more room it needs."""
    spread = Uncertainty((0.5, 0.5, 0.5), (0.2, 0.2, 0.2))
    frames = {"rail": Frame("rail", uncertainty=spread)}
    wall = part("wall", Box((10, 900, 900)))
    near = mapped(bay(part("it", Sphere(20), parent="rail"), wall, frames=frames), (0, 0, 0), (60, 9, 9), 3)
    far = mapped(bay(part("it", Sphere(20), parent="rail"), wall, frames=frames), (0, 300, 0), (60, 309, 9), 3)
    least = [corners(one, FITS)[:, 0, 0].min() for one in (near, far)]
    assert least[0] >= 25 + 1.96 * 0.5 - SLACK
    assert least[1] >= 25 + 1.96 * np.hypot(0.5, np.radians(0.2) * 300) - SLACK


def test_a_margin_counts_what_a_longer_arm_makes_likely() -> None:
    """Oracle: by hand. A lid on the part's own frame leaves 1 mm. Beside the part 2 mm are left to a rail, of which
    1.96 x 0.00873 for each mm from the frame's zero, 90 and at the most 17.3 more, are likely to be lost."""
    frames = {"f": Frame("f", uncertainty=Uncertainty(turn=(0, 0, 0.5)))}
    made = bay(
        part("it", Box((20, 20, 20)), parent="f"),
        part("rail", Box((2000, 10, 300)), at=(0, 27, 0)),
        part("lid", Box((2000, 20, 10)), parent="f", at=(0, 0, 26)),
        frames=frames,
    )
    margin, whose = Margins(Shifted(Trial(made.assembly, made.session, "it"), np.eye(3), 10)).at(frozen([90, 0, 0]))
    rate = 1.96 * np.radians(0.5)
    assert whose == "rail"
    assert 2 - rate * (90 + 17.4) - SLACK <= margin <= 2 - rate * 90 + SLACK


def test_what_hangs_on_the_part_counts() -> None:
    """Oracle: closed form. A box 100 mm above the ball it hangs on must keep 10 mm from the other part, too."""
    carried = part("rider", Box((20, 20, 20)), parent="it", at=(0, 0, 100))
    made = bay(part("it", Sphere(20), at=(500, 0, 0)), carried, part("other", Box((100, 100, 20))))
    one = mapped(made, (-20, -20, -200), (20, 20, 200), 10)
    heights = corners(one, FITS)[:, :, 2]
    fits_under = heights[:, 1] <= -100 - 30 + SLACK
    fits_between = (heights[:, 0] >= -70 - SLACK) & (heights[:, 1] <= -30 + SLACK)
    assert fits_between.any() and fits_under.any()
    assert (fits_under | fits_between | (heights[:, 0] >= 30 - SLACK)).all()


def test_tolerances_and_frames_take_their_share() -> None:
    """Oracle: closed form. 3 mm of each part and 2 mm of a frame leave 30 + 30 + 10 + 8 between middles."""
    frames = {"rail": Frame("rail", at=(0, 0, 0), tolerance=(2.0, 2.0, 2.0))}
    loose = {"tolerance": (3.0, 3.0, 3.0)}
    made = bay(
        part("it", Sphere(60), at=(500, 0, 0), **loose),
        part("other", Sphere(60), parent="rail", **loose),
        frames=frames,
    )
    held(mapped(made, (-120, -120, -120), (120, 120, 120), 12), np.zeros(3), np.zeros(3), 78, 2.0)


def test_a_joint_may_come_undone_but_not_be_sunk_into() -> None:
    """Oracle: closed form. Bolted to the other box it may touch it, or stand 1 mm (the seat) in it."""
    made = bay(
        part("it", Box((20, 20, 20)), at=(60, 0, 0), bolted_to=("other",)), part("other", Box((100, 100, 100)))
    )
    one = mapped(made, (-90, -20, -20), (90, 20, 20), 4.5)
    fits = np.abs(corners(one, FITS)[:, :, 0]).min(axis=1)
    assert len(fits) and fits.min() >= 59 - SLACK and fits.min() < 59 + 4.5
    bad = np.abs(corners(one, NOT)[:, :, 0]).max(axis=1)
    assert len(bad) and bad.max() <= 59 + SLACK


def test_pockets_are_numbered_by_size_and_fill_what_fits() -> None:
    """Oracle: closed form. A wall at x = 20 leaves two pockets; the wider one comes first."""
    made = bay(part("it", Sphere(20), at=(500, 0, 0)), part("wall", Box((10, 900, 900)), at=(20, 0, 0)))
    one = mapped(made, (-100, -50, -50), (100, 50, 50), 10)
    assert [pocket.number for pocket in one.pockets] == [1, 2]
    assert one.pockets[0].box[1, 0] == pytest.approx(-10) and one.pockets[1].box[0, 0] == pytest.approx(50)
    assert sum(pocket.cells for pocket in one.pockets) == (one.states == FITS).sum() == (one.pocket > 0).sum()
    assert one.volume(FITS) == pytest.approx((90 + 50) * 100 * 100)


def test_margins_and_the_nearest_place_follow_the_closed_form() -> None:
    """Oracle: closed form. Beside a wall the margin is the distance from its face less radius and limit."""
    made = bay(part("it", Sphere(20), at=(25, 0, 0)), part("wall", Box((10, 900, 900))))
    one = mapped(made, (-100, -50, -50), (100, 50, 50), 10)
    margins = Margins(one.shifted)
    assert margins.at(np.array([60.0, 0, 0]))[0] == pytest.approx(60 - 5 - 10 - 10, abs=0.01)
    assert margins.at(np.array([60.0, 0, 0]))[1] == "wall"
    distance, place = next(one.nearest(np.array([20.0, 3, 4])))
    assert place == pytest.approx([30, 3, 4]) and distance == pytest.approx(10)
    assert one.reach()[one.states == FITS].min() > 0


def test_the_same_map_comes_of_one_core_and_of_two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: the promise; the barriers are asked one after the other in place of two at a time."""
    rng = np.random.default_rng(9)
    crowd = [part(f"p{k}", random_shape(rng), at=tuple(rng.uniform(-150, 150, 3))) for k in range(6)]
    made = bay(part("it", Cylinder(40, 70), at=(900, 0, 0)), *crowd)
    two = mapped(made, (-150, -150, -150), (150, 150, 150), 20)
    monkeypatch.setattr("packcheck.search.positions.CORES", 1)
    one = mapped(made, (-150, -150, -150), (150, 150, 150), 20)
    assert (one.states == two.states).all()
