"""Fewer triangles: what is proven of them holds, and nothing that was left out is ever called clear."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from packcheck.arrays import frozen, frozen_faces
from packcheck.frames import Pose, turn_matrix
from packcheck.proximity.pairs import Body as Prepared
from packcheck.proximity.pairs import pair_gap
from packcheck.scene.model.scene import Mesh
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.topology import edges_of, pieces_of
from packcheck.solids.formats.gate import RefusedError
from packcheck.solids.meshes import simplify
from packcheck.solids.meshes.files import read_mesh
from packcheck.solids.meshes.reading import made
from tests.oracles.triangles import Soup, soup_distance, winding_number
from tests.solids.mesh_bytes import Body, as_stl, ball, box, grid, spec_of, torus

fast_simplification = pytest.importorskip("fast_simplification", reason="the extra for scans is not installed")
pytest.importorskip("igl", reason="the extra for scans is not installed")

from packcheck.solids.meshes.simplify import fewer  # noqa: E402


def pinned(height: float = 30.0, across: int = 40) -> Body:
    """A plate of 100 x 100 with one vertex of its upper face drawn out to a pin `height` mm high."""

    def shape(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = np.where((np.abs(x - 50) < 1e-6) & (np.abs(y - 50) < 1e-6), height, 0.0)
        return np.stack([x, y, z], axis=1)

    return grid(shape, across, across)


def solid_of(body: Body) -> Solid:
    vertices, faces = body
    piece, closed = pieces_of(faces, edges_of(faces))
    first = np.unique(piece, return_index=True)[1]
    whole = bool(closed.all())
    pieces = frozen(vertices[faces[first, 0]])
    return Solid(frozen(vertices), frozen_faces(faces), closed=whole, open_surface=not whole, pieces=pieces)


def made_fewer(body: Body, limit: float) -> Solid:
    """As `simplified` makes it, in this process."""
    solid, found = solid_of(body), fewer(*body, limit)
    if found is None:
        return solid
    vertices, faces, error = found
    return replace(solid, vertices=frozen(vertices), faces=frozen_faces(faces), error=error, whole=solid)


def test_the_library_alone_would_lose_the_pin() -> None:
    """Why all this is needed: left to itself the decimation takes the pin away."""
    vertices, faces = pinned()
    points, _ = fast_simplification.simplify(vertices, faces.astype(np.int32), target_count=6)
    assert points[:, 2].max() < 20.0


@pytest.mark.parametrize("limit", [0.2, 1.0, 5.0])
def test_a_pin_is_never_lost(limit: float) -> None:
    """Oracle: closed form. The tip stands at 30, the underside of a plate over it at 35: 5 mm of air."""
    made = made_fewer(pinned(), limit)
    over = solid_of(box((100, 100, 2), (50, 50, 36)))
    gap = pair_gap(Prepared(made), Prepared(over), Pose(np.eye(3), np.zeros(3)))
    assert gap is not None
    assert gap.low <= 5.0 + 1e-9 <= gap.high + 2e-9
    assert made.error <= limit
    assert len(made.faces) < 3200 or made.whole is None


def test_fewer_triangles_are_found_where_they_do_no_harm() -> None:
    """Oracle: by construction: the inside of a flat sheet needs no vertices, whatever the limit."""
    found = fewer(*grid(lambda x, y: np.stack([x, y, 0 * x], 1), 40, 40), 0.1)
    assert found is not None
    assert len(found[1]) <= 0.3 * 3200
    assert found[2] <= 0.1


def test_a_closed_surface_stays_closed_and_what_lies_within_is_still_within() -> None:
    made = made_fewer(torus(60, 20, 60, 30), 1.0)
    assert made.whole is not None
    assert len(made.faces) < len(made.whole.faces) / 2
    assert edges_of(made.faces).balanced
    gap = pair_gap(Prepared(made), Prepared(solid_of(box((2, 2, 2), (60, 0, 0)))), Pose(np.eye(3), np.zeros(3)))
    assert gap is not None
    assert gap.high < 0


def test_a_scene_may_ask_for_it_and_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: by construction: the error is within what was asked; the cache gives it back as it was."""
    monkeypatch.setenv("PACKCHECK_CACHE", str(tmp_path / "kept"))
    spec = spec_of(tmp_path, "ring.stl", as_stl(torus(60, 20, 60, 30)), simplify=1.0)
    first, again = read_mesh(spec), read_mesh(spec)
    (words,) = first.account.repaired
    assert words.startswith("simplified from 3600 to ")
    assert 0 < first.solid.error <= 1.0
    assert first.account.triangles == 3600
    for loaded in (first, again):
        assert loaded.solid.whole is not None
        assert len(loaded.solid.faces) < 3600 == len(loaded.solid.whole.faces)
    assert np.array_equal(first.solid.vertices, again.solid.vertices)
    assert first.solid.error == again.solid.error


def test_what_cannot_be_made_fewer_is_taken_as_it_is_and_said(tmp_path: Path) -> None:
    loaded = read_mesh(spec_of(tmp_path, "a.stl", as_stl(box((50, 40, 30))), simplify=0.5), use_cache=False)
    assert loaded.account.repaired == ("not simplified: no fewer triangles stay within 0.5 mm",)
    assert (len(loaded.solid.faces), loaded.solid.error) == (12, 0.0)


def test_without_the_extra_the_command_to_install_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("packcheck.solids.meshes.simplify.find_spec", lambda _: None)
    with pytest.raises(RefusedError, match="the extra for scans is not installed") as caught:
        made(Mesh(Path("a.stl"), 1.0, "mm", simplify=0.5), as_stl(box()))
    assert caught.value.mend == 'in the folder of packcheck run  pip install ".[scan]"'


def test_only_the_core_of_the_library_for_hints_is_imported() -> None:
    """Its other parts are under a licence that would bind this package, and are never touched."""
    program = (
        "import sys; from packcheck.solids.meshes.simplify import fewer\n"
        "from tests.solids.mesh_bytes import torus\n"
        "assert fewer(*torus(60, 20, 20, 12), 3.0)\n"
        "print(sorted(name for name in sys.modules if name.startswith('igl.')))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['igl.pyigl_core']"


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.stack([x, y, 4 * np.sin(x / 9) + 3 * np.cos(y / 13)], axis=1)


BODIES = {
    "ring": torus(60, 20, 60, 30),
    "ball": ball(40, 30, 40),
    "wavy sheet": grid(wavy, 40, 40),
    "plate with a pin": pinned(),
    "short pin": pinned(3.0),
}


def judged(body: Body, made: Solid, random: np.random.Generator) -> str:
    """What is wrong with the gap of the simplified body to a probe somewhere near; "" when nothing is."""
    probe = box(random.uniform(1, 12, 3).tolist()) if random.random() < 0.6 else ball(random.uniform(1, 8), 5, 7)
    turn = turn_matrix(tuple(random.uniform(-180, 180, 3)))
    face = body[0][body[1][random.integers(len(body[1]))]]
    normal = np.cross(face[1] - face[0], face[2] - face[0])
    at = face.mean(axis=0) + normal / max(np.linalg.norm(normal), 1e-9) * random.uniform(-4, 14)
    if random.random() < 0.3:  # over the tip of a pin, or whatever stands highest
        at = body[0][np.argmax(body[0][:, 2])] + [0, 0, random.uniform(0, 14)]
    placed = probe[0] @ turn.T + at
    gap = pair_gap(Prepared(made), Prepared(solid_of(probe)), Pose(turn, at))
    assert gap is not None
    near = Soup(*body).near(placed.min(axis=0), placed.max(axis=0), 40.0)
    true = soup_distance(near, Soup(placed, probe[1])) if len(near.faces) else 40.0
    inside = edges_of(body[1]).balanced and winding_number(placed[0], Soup(*body)) > 0.5
    if true == 0.0 or inside:
        return f"called clear by {gap.low}, it overlaps" if gap.low > 0 else ""
    if gap.low > true + 1e-6:
        return f"low {gap.low}, true {true}"
    return f"high {gap.high}, true {true}" if true < 40.0 and gap.high < true - 1e-6 else ""


def campaign(pairs: int, seed: int) -> list[str]:
    """Faults found in so many pairs, spread over all bodies and limits."""
    random = np.random.default_rng(seed)
    cases = [(name, limit) for name in BODIES for limit in (0.1, 0.3, 0.8, 2.0)]
    faults = []
    for name, limit in cases:
        made = made_fewer(BODIES[name], limit)
        found = (judged(BODIES[name], made, random) for _ in range(-(-pairs // len(cases))))
        faults += [f"{name} within {limit}: {fault}" for fault in found if fault]
    return faults


def test_simplified_and_original_agree_within_what_is_stated() -> None:
    """Oracle: brute force over all triangles of the originals."""
    assert campaign(200, 1) == []


@pytest.mark.campaign
def test_no_false_clear_in_ten_thousand_pairs() -> None:
    """Oracle: brute force over all triangles of the originals."""
    assert campaign(10_000, 7) == []


def test_a_proof_that_takes_too_much_work_is_given_up_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: a count: the 3600 triangles of the ring alone are more pieces than may be looked at.

    The mends that the words name work: less of it, or a limit that is easier to prove.
    """
    monkeypatch.setattr(simplify, "fewer", partial(fewer, most=5000))
    solid, words = simplify.simplified(solid_of(torus(60, 20, 60, 30)), 0.3)
    assert words == "not simplified: 0.3 mm takes too much work to prove; crop it, or allow more"
    assert (len(solid.faces), solid.error) == (3600, 0.0)
    assert "simplified from 3600 to" in simplify.simplified(solid_of(torus(60, 20, 60, 30)), 5.0)[1]
    assert "simplified from 288 to" in simplify.simplified(solid_of(grid(wavy, 12, 12)), 3.0)[1]
