"""Round and bent faces of STEP files, held against the surfaces they stand for, in closed form; and assemblies."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np
import pytest

from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.oracles.triangles import Soup, soup_distance
from tests.solids.mesh_bytes import spec_of
from tests.solids.step_curved import (
    Solid,
    ball,
    cone,
    of_solid,
    pillow,
    pillow_height,
    ring,
)

pytest.importorskip("cascadio", reason="the extra for STEP is not installed")

Array: TypeAlias = np.ndarray
MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


@dataclass
class Known:
    """A solid; how far points (n, 3) lie from its curved face; points of that face; all in the unit of the file."""

    solid: Solid
    off: Callable[[Array], Array]
    on: Callable[[Array], Array]  # from (n, 2) of 0 to 1


def the_ball(r: float) -> Known:
    def on(share: Array) -> Array:
        turn, up = 2 * np.pi * share[:, 0], 2 * share[:, 1] - 1
        flat = np.sqrt(1 - up**2)
        points: Array = r * np.column_stack([flat * np.cos(turn), flat * np.sin(turn), up])
        return points

    return Known(ball("ball", r), lambda p: np.abs(np.linalg.norm(p, axis=1) - r), on)


def the_cone(bottom: float, top: float, length: float) -> Known:
    slant = np.hypot(length, bottom - top)

    def off(p: Array) -> Array:
        over = np.hypot(p[:, 0], p[:, 1]) - bottom + (bottom - top) * p[:, 2] / length
        away: Array = np.abs(over) * length / slant
        return away

    def on(share: Array) -> Array:
        r, turn = bottom + (top - bottom) * share[:, 1], 2 * np.pi * share[:, 0]
        return np.column_stack([r * np.cos(turn), r * np.sin(turn), length * share[:, 1]])

    return Known(cone("cone", bottom, top, length), off, on)


def the_ring(middle: float, thickness: float) -> Known:
    def off(p: Array) -> Array:
        away: Array = np.abs(np.hypot(np.hypot(p[:, 0], p[:, 1]) - middle, p[:, 2]) - thickness)
        return away

    def on(share: Array) -> Array:
        around, across = 2 * np.pi * share.T
        r = middle + thickness * np.cos(across)
        return np.column_stack([r * np.cos(around), r * np.sin(around), thickness * np.sin(across)])

    return Known(ring("ring", middle, thickness), off, on)


def the_pillow(width: float, height: float, bend: tuple[float, float]) -> Known:
    """Off the lid: no farther than from a spot of it nearly below, down its slope (one step of Newton's)."""

    def on(share: Array) -> Array:
        flat = share * width
        return np.column_stack([flat, pillow_height(flat, width, height, bend)])

    def off(p: Array) -> Array:
        slope = 2 * np.asarray(bend) / width**2 * p[:, :2]
        over = p[:, 2] - pillow_height(p[:, :2], width, height, bend)
        below = p[:, :2] + slope * (over / (1 + (slope**2).sum(axis=1)))[:, None]
        spot = np.column_stack([below, pillow_height(below, width, height, bend)])
        away: Array = np.linalg.norm(p - spot, axis=1)
        return away

    return Known(pillow("pillow", width, height, bend), off, on)


KNOWN: dict[str, tuple[Known, str]] = {
    "ball": (the_ball(20), "mm"),
    "ball bearing": (the_ball(1.5), "mm"),
    "knob": (the_ball(10), "mm"),
    "large ball": (the_ball(0.4), "m"),
    "ball in inches": (the_ball(2), "in"),
    "cone": (the_cone(30, 10, 40), "mm"),
    "steep cone": (the_cone(150, 145, 800), "mm"),
    "flat cone": (the_cone(200, 20, 30), "mm"),
    "cone in cm": (the_cone(3, 1, 4), "cm"),
    "ring": (the_ring(40, 12), "mm"),
    "thin ring": (the_ring(300, 4), "mm"),
    "O-ring in inches": (the_ring(0.5, 0.07), "in"),
    "pillow": (the_pillow(60, 20, (15, -8)), "mm"),
    "hammock": (the_pillow(300, 60, (5, 200)), "mm"),
    "wide pillow": (the_pillow(900, 60, (50, 30)), "mm"),
    "pillow in inches": (the_pillow(10, 2, (1, 0.5)), "in"),
}


def loaded(folder: Path, data: bytes, **said: object) -> LoadedMesh:
    return read_mesh(spec_of(folder, "part.step", data, **said), use_cache=False)


@pytest.mark.parametrize("case", KNOWN)
def test_a_curved_face_lies_within_the_stated_error_both_ways(case: str, tmp_path: Path) -> None:
    """Oracle: closed form, of the ball, cone, torus or polynomial; the other way, brute force over all triangles.

    Triangles are those of the curved face when their corners are on it, but for rounding, save floor and lid.
    """
    known, unit = KNOWN[case]
    found = loaded(tmp_path, of_solid(known.solid, unit))
    assert found.account.closed
    assert found.account.pieces == 1
    mm, error = MM[unit], found.solid.error
    corners = found.solid.vertices[found.solid.faces] / mm
    size = float(np.ptp(corners.reshape(-1, 3), axis=0).max())
    there = known.off(corners.reshape(-1, 3)).reshape(-1, 3).max(axis=1) < 1e-4 * size
    wall = corners[there & (np.ptp(corners[:, :, 2], axis=1) > 1e-6 * size)]
    random = np.random.default_rng(5)
    inner = random.dirichlet([1, 1, 1], 8) @ wall
    points = np.concatenate(
        [wall.reshape(-1, 3), (wall + wall[:, [1, 2, 0]]).reshape(-1, 3) / 2, inner.reshape(-1, 3)]
    )
    assert known.off(points).max() * mm <= error
    soup = Soup(found.solid.vertices, found.solid.faces)
    for point in known.on(random.random((60, 2))) * mm:
        dot = Soup(point[None], np.zeros((1, 3), dtype=np.int64))
        near = soup.near(point, point, 3 * error)
        assert len(near.faces), f"no triangle near {point}"
        assert soup_distance(dot, near) <= error
