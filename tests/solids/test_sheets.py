"""A surface of known thickness becomes a closed skin of that thickness, on the side that was stated."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, Points
from packcheck.scene.model.scene import Side
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from packcheck.solids.meshes.sheets import Skin, skin_of
from tests.solids.measuring import volume_of, winding_at
from tests.solids.mesh_bytes import Body, as_ply, ball, box, grid, joined, spec_of

SIDES: tuple[Side, ...] = ("outer", "inner", "middle")


def flat(x: Floats, y: Floats) -> Points:
    return np.stack([x, y, np.zeros_like(x)], axis=1)


def folded(x: Floats, y: Floats) -> Points:
    """A square bent by 90 degrees along x = 50: flat up to there, then straight down. Normals point up and out."""
    return np.stack([np.minimum(x, 50), y, np.minimum(50 - x, 0)], axis=1)


def as_solid(skin: Skin) -> Solid:
    return Solid(skin.vertices, skin.faces, radius=skin.radius, error=skin.error)


def read(folder: Path, body: Body, thickness: float, side: Side) -> LoadedMesh:
    spec = spec_of(folder, "a.ply", as_ply(body), thickness=thickness, side=side)
    return read_mesh(spec, use_cache=False)


@pytest.mark.parametrize(("side", "low", "high"), [("outer", -3, 0), ("inner", 0, 3), ("middle", -1.5, 1.5)])
def test_flat_plate_is_a_box(side: Side, low: float, high: float, tmp_path: Path) -> None:
    """Oracle: closed form. 100 x 100 x 3 mm: volume 30 000, between `low` and `high`, convex, no error."""
    loaded = read(tmp_path, grid(flat), 3.0, side)
    assert loaded.solid.closed
    assert not loaded.solid.open_surface
    assert volume_of(loaded.solid) == pytest.approx(30_000)
    assert loaded.solid.vertices[:, 2].min() == pytest.approx(low)
    assert loaded.solid.vertices[:, 2].max() == pytest.approx(high)
    assert loaded.solid.error == pytest.approx(0, abs=1e-9)
    assert loaded.solid.convex


@pytest.mark.parametrize(("side", "words"), [
    ("outer", "3 mm to the inside"), ("inner", "3 mm to the outside"), ("middle", "3 mm, half to each side"),
])  # fmt: skip
def test_account_names_the_sheet_and_the_size_of_the_surface(side: Side, words: str, tmp_path: Path) -> None:
    account = read(tmp_path, grid(flat), 3.0, side).account
    assert account.sheet == words
    assert account.extents == (100.0, 100.0, 0.0)
    assert not account.closed


@pytest.mark.parametrize(("side", "area"), [
    ("outer", 50 * 3 + 47 * 3), ("inner", 50 * 3 + 50 * 3 + 3 * 3), ("middle", 50 * 3 * 2),
])  # fmt: skip
def test_square_bend_is_mitred_exactly(side: Side, area: float) -> None:
    """Oracle: closed form. Two legs of 50 mm, 3 mm thick. Outside modelled: the legs share a square
    of 3; inside modelled: a square of 3 joins them; middle: what one side loses the other gains.
    """
    skin = skin_of(*grid(folded), 3.0, side)
    assert volume_of(as_solid(skin)) == pytest.approx(100 * area)
    assert skin.error == pytest.approx(0, abs=1e-9)
    assert skin.reason == ""


@pytest.mark.parametrize("side", SIDES)
def test_spherical_cap_has_its_thickness_within_the_error(side: Side) -> None:
    """Oracle: closed form. A cap of radius 200 mm about the origin, outside up: the other face of the skin is a
    sphere of radius 200 less 3 (outer), plus 3 (inner), or both by 1.5. Moved vertices may be off by the error and
    by the height of the facets' arcs, r (1 - cos of half the angle of the longest edge).
    """

    def cap(x: Floats, y: Floats) -> Points:
        out = np.stack([x - 50, y - 50, np.full_like(x, 200.0)], axis=1)
        onto: Points = 200.0 * out / np.linalg.norm(out, axis=1, keepdims=True)
        return onto

    vertices, faces = grid(cap)
    skin = skin_of(vertices, faces, 3.0, side)
    upper, lower = np.linalg.norm(skin.vertices.reshape(2, -1, 3), axis=2)
    longest = np.linalg.norm(vertices[faces] - vertices[faces[:, [1, 2, 0]]], axis=2).max()
    arc = 200 * (1 - np.cos(np.arcsin(longest / 400)))
    rise, fall = {"outer": (0, -3), "inner": (3, 0), "middle": (1.5, -1.5)}[side]
    assert np.abs(upper - 200 - rise).max() <= skin.error + arc
    assert np.abs(lower - 200 - fall).max() <= skin.error + arc
    assert skin.error < 0.003


def test_closed_surface_with_a_thickness_is_a_hollow_body(tmp_path: Path) -> None:
    """Oracle: closed form. A cube of 100 with walls of 5 inwards: 100^3 - 90^3; its middle is empty."""
    loaded = read(tmp_path, box((100, 100, 100)), 5.0, "outer")
    assert loaded.account.sheet == "5 mm to the inside (a hollow body: the surface is closed)"
    assert loaded.solid.closed
    assert volume_of(loaded.solid) == pytest.approx(100**3 - 90**3)
    assert winding_at(np.zeros(3), loaded.solid) == pytest.approx(0, abs=1e-9)
    assert loaded.solid.pieces is not None
    assert len(loaded.solid.pieces) == 2


def test_skin_of_several_sheets_is_closed_piece_by_piece() -> None:
    """Oracle: closed form. Two plates: 2 * 100 * 100 * 2 mm3."""
    vertices, faces = grid(flat)
    skin = skin_of(*joined((vertices, faces), (vertices + np.array([0, 0, 50]), faces)), 2.0, "inner")
    assert volume_of(as_solid(skin)) == pytest.approx(40_000)


def test_sheets_that_touch_in_one_point_are_thickened_apart() -> None:
    """Oracle: closed form. Two triangles of area 50, point to point, one level and one upright: 2 * 50 * 2 mm3."""
    vertices = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0], [-10, 0, 0], [0, 0, 10.0]])
    skin = skin_of(vertices, np.array([[0, 1, 2], [0, 3, 4]]), 2.0, "outer")
    assert volume_of(as_solid(skin)) == pytest.approx(200)
    assert skin.error == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("side", SIDES)
def test_fine_mesh_in_a_sharp_corner_folds_without_losing_material(side: Side) -> None:
    """Edges of 1 mm by a square bend, 3 mm thick: moved faces overlap there and count twice, never not at all.

    Oracle: closed form. Points of the material, from 0.3 mm to 2.7 mm under the surface, are wound round.
    """
    vertices, faces = grid(folded, 100, 4)
    skin = skin_of(vertices, faces, 3.0, side)
    assert skin.reason == ""
    assert skin.error == pytest.approx(0, abs=1e-9)
    shift = {"outer": 0.0, "inner": 3.0, "middle": 1.5}[side]
    for depth in (0.3, 1.5, 2.7):
        for along in (2.0, 25.0, 48.0):
            under_level = np.array([along, 50.0, shift - depth])
            under_upright = np.array([50.0 + shift - depth, 50.0, -along])
            assert winding_at(under_level, as_solid(skin)) > 0.5
            assert winding_at(under_upright, as_solid(skin)) > 0.5


def pipe_of(radius: float) -> Body:
    """An open pipe along y, outside modelled."""
    return grid(lambda x, y: np.stack([radius * np.sin(x), y, radius * np.cos(x)], axis=1), 48, 6, 2 * np.pi)


def test_pipe_thicker_than_its_radius_is_not_hollowed(tmp_path: Path) -> None:
    """Walls of 12 mm in a pipe of radius 10 cross the axis; the skin is then a ball swept over the surface."""
    loaded = read(tmp_path, pipe_of(10.0), 12.0, "outer")
    assert not loaded.solid.closed
    assert not loaded.solid.open_surface
    assert (loaded.solid.radius, loaded.solid.error) == pytest.approx((6.0, 6.0))
    assert any("it bends tighter than it is thick" in words for words in loaded.account.unrepaired)


def test_pipe_thinner_than_its_radius_is_hollow() -> None:
    skin = skin_of(*pipe_of(10.0), 3.0, "outer")
    assert skin.reason == ""
    assert winding_at(np.array([0.0, 3.1, 0.0]), as_solid(skin)) == pytest.approx(0, abs=1e-6)
    assert winding_at(np.array([8.5 * np.sin(0.4), 3.1, 8.5 * np.cos(0.4)]), as_solid(skin)) == pytest.approx(
        1, abs=1e-6
    )


@pytest.mark.parametrize(("side", "half"), [("outer", 1.5), ("inner", 1.5), ("middle", 0.75)])
def test_three_faces_on_an_edge_keep_half_the_reach_as_ball_and_error(side: Side, half: float) -> None:
    vertices = np.array([[0, 0, 0], [0, 0, 10], [10, 0, 0], [0, 10, 0], [-10, -10, 0.0]])
    skin = skin_of(vertices, np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]]), 3.0, side)
    assert skin.reason == "its faces do not join two by two, wound alike"
    assert skin.radius == skin.error == half


def test_fold_back_on_itself_is_refused_as_a_skin() -> None:
    vertices = np.array([[0, 0, 0], [0, 10, 0], [10, 0, 0.1], [10, 0, -0.1]])
    skin = skin_of(vertices, np.array([[0, 1, 2], [1, 0, 3]]), 3.0, "outer")
    assert skin.reason == "it folds too sharply"


@settings(max_examples=40, deadline=None)
@given(
    bend=st.tuples(*[st.floats(-0.004, 0.004)] * 3),
    thickness=st.floats(0.5, 6.0),
    side=st.sampled_from(SIDES),
    part=st.floats(0.05, 0.95),
)
def test_gentle_panel_holds_its_material_and_nothing_beyond(
    bend: tuple[float, float, float], thickness: float, side: Side, part: float
) -> None:
    """Oracle: closed form. Under the middle of a face, at any part of the thickness, lies material; a little above
    the one face or below the other lies none (the error of the skin granted).
    """
    a, b, c = bend
    vertices, faces = grid(lambda x, y: np.stack([x, y, a * x * x + b * x * y + c * y * y], axis=1), 8, 8)
    skin = skin_of(vertices, faces, thickness, side)
    assert skin.reason == ""
    corners = vertices[faces[37]]
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    normal /= np.linalg.norm(normal)
    top = {"outer": 0.0, "inner": thickness, "middle": thickness / 2}[side]
    centre, beyond = corners.mean(axis=0), skin.error + 1e-6
    assert winding_at(centre + (top - part * thickness) * normal, as_solid(skin)) > 0.5
    assert winding_at(centre + (top + beyond) * normal, as_solid(skin)) < 0.5
    assert winding_at(centre + (top - thickness - beyond) * normal, as_solid(skin)) < 0.5


def test_ball_of_facets_as_a_shell_keeps_its_wall(tmp_path: Path) -> None:
    """Oracle: closed form. Between the volumes of shells of 4 mm inside the spheres that hold, and are held by, the
    facets: 4/3 pi (r^3 - (r - 4)^3) for r = 50 and r = 50 cos(half a facet).
    """
    loaded = read(tmp_path, ball(50, 48, 96), 4.0, "outer")
    inner = 50 * np.cos(np.pi / 48)
    low, high = (4 / 3 * np.pi * (r**3 - (r - 4) ** 3) for r in (inner, 50.0))
    assert low < volume_of(loaded.solid) < high
