"""Skins through a few heights: whatever the true surface does between the points, nothing is called clear of it."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from packcheck.frames import IDENTITY, Pose
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Shape, Skin, Sphere
from packcheck.solids.primitives import build_shape
from tests.scene.writing import scene_of, shape_of, whats
from tests.solids.true_skins import Trial, drawn, true_gap

FLAT = Skin((((0, 0, 0), (0, 100, 0)), ((100, 0, 0), (100, 100, 0))), (2, 1), 2.0, "inner", 0.0)


def skin_of_trial(trial: Trial) -> Skin:
    grid = tuple(
        tuple((float(x), float(y), float(z)) for y, z in zip(trial.y, row, strict=True))
        for x, row in zip(trial.x, trial.grid, strict=True)
    )
    return Skin(grid, (2, 1), trial.thickness, trial.side, trial.between)  # type: ignore[arg-type]


def measured(trial: Trial) -> tuple[float, float]:
    """The low end that packcheck gives, and the gap as drawn, mm."""
    shape: Shape = Sphere(2 * trial.ball) if trial.ball else Box((trial.box[0], trial.box[1], trial.box[2]))
    body = Placed("body", build_shape(shape), Pose.of(trial.place, (0, 0, trial.swing)))
    gap = Session().gap(Placed("skin", build_shape(skin_of_trial(trial)), IDENTITY), body)
    return (-np.inf if gap.low is None else gap.low), gap.value


def campaign(seeds: range) -> Counter[str]:
    """What came of each trial; a false clear is a low end above the true gap."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        trial = drawn(seed)
        low, value = measured(trial)
        true = true_gap(trial)
        seen["trials"] += 1
        seen["false clear"] += low > true + 1e-4
        seen["called clear"] += low > 0
        seen["as drawn too far"] += value > true + 1e-4
    return seen


def test_no_true_surface_is_nearer_than_the_low_end_says() -> None:
    """Oracle: brute force; the sheet of the true surface sampled, distances to ball and box in closed form."""
    seen = campaign(range(120))
    assert seen["false clear"] == 0
    assert seen["called clear"] > 20  # or the promise would be empty
    assert seen["as drawn too far"] > 20  # and without `between` it would have been broken


@pytest.mark.campaign
def test_ten_thousand_true_surfaces(capsys: pytest.CaptureFixture[str]) -> None:
    """Oracle: as above."""
    seen = campaign(range(10_000))
    with capsys.disabled():
        print("\nskins:", dict(seen))  # noqa: T201 - the table is what the campaign is run for
    assert seen["false clear"] == 0


def test_a_flat_skin_is_a_plate() -> None:
    """Oracle: by head; heights to the inner face, so that the plate lies above them."""
    (solid,) = build_shape(FLAT)
    assert solid.closed
    assert solid.error == pytest.approx(0.0, abs=1e-9)
    assert np.allclose([solid.vertices.min(axis=0), solid.vertices.max(axis=0)], [[0, 0, 0], [100, 100, 2]])


def test_a_twisted_cell_is_drawn_half_way_and_says_so() -> None:
    """Oracle: by hand; diagonals at heights 0 and 20 over the middle, drawn at 10, good to 10 and `between`."""
    grid = (((0.0, 0.0, 0.0), (0.0, 100.0, 20.0)), ((100.0, 0.0, 20.0), (100.0, 100.0, 0.0)))
    (solid,) = build_shape(Skin(grid, (2, 1), 1e-3, "middle", 3.0))
    middle = solid.vertices[np.hypot(solid.vertices[:, 0] - 50, solid.vertices[:, 1] - 50) < 1e-6]
    assert np.allclose(middle[:, 2], 10, atol=0.01)
    assert solid.error == pytest.approx(10 + 3, abs=0.01)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("aft: [0, 100], left: [0, 50], up: [[5, 5], [5, 5]], side: inner", (0, -50, 5), (100, 0, 7)),
        ("aft: [0, 100], left: [0, 50], up: [[5, 5], [5, 5]], side: outer", (0, -50, 3), (100, 0, 5)),
        ("aft: [0, 100], left: [0, 50], up: [[5, 5], [5, 5]], side: middle", (0, -50, 4), (100, 0, 6)),
        ("fore: [0, 100], right: [0, 50], down: [[5, 5], [5, 5]], side: inner", (-100, 0, -7), (0, 50, -5)),
        ("up: [0, 100], aft: [50, 0], right: [[5, 5], [5, 5]], side: inner", (0, 5, 0), (50, 7, 100)),
        ("left: [3 in, 0], up: [0, 9], aft: [[5, 5], [5, 5]], side: inner", (5, -76.2, 0), (7, 0, 9)),
    ],
)
def test_directions_and_sides(tmp_path: Path, text: str, low: tuple[float, ...], high: tuple[float, ...]) -> None:
    """Oracle: by hand; its outside lies the way the heights count."""
    shape = shape_of(tmp_path, f"skin: {{{text}, thickness: 2, between: 0}}")
    (solid,) = build_shape(shape)
    assert np.allclose([solid.vertices.min(axis=0), solid.vertices.max(axis=0)], [low, high], atol=1e-9)


def test_cards_at_stations_have_places_of_their_own(tmp_path: Path) -> None:
    text = "aft: [0, 100], left: [[0, 40, 90], [5, 50, 80]], up: [[1, 2, 3], [4, 5, 6]]"
    shape = shape_of(tmp_path, f"skin: {{{text}, side: inner, thickness: 2, between: 1}}")
    assert isinstance(shape, Skin)
    assert shape.grid == (
        ((0.0, 0.0, 1.0), (0.0, -40.0, 2.0), (0.0, -90.0, 3.0)),
        ((100.0, -5.0, 4.0), (100.0, -50.0, 5.0), (100.0, -80.0, 6.0)),
    )


def test_axes_of_the_file_are_kept_to(tmp_path: Path) -> None:
    head = "packcheck: 1\naxes: {x: fore, y: left, z: up}\n"
    text = "skin: {aft: [0, 9], left: [0, 5], up: [[1, 2], [3, 4]], side: inner, thickness: 2, between: 1}"
    (spec,) = scene_of(tmp_path, f"parts: {{it: {{{text}}}}}", head=head).parts["it"].solids
    assert isinstance(spec.shape, Skin)
    assert spec.shape.grid == (((0.0, 0.0, 1.0), (0.0, 5.0, 2.0)), ((-9.0, 0.0, 3.0), (-9.0, 5.0, 4.0)))


GOOD = "aft: [0, 9], left: [0, 5, 7], up: [[1, 2, 3], [3, 4, 5]]"


@pytest.mark.parametrize(
    ("keys", "what"),
    [
        ("aft: [0, 9], left: [0, 5]", "skin has aft and left, needs three: one of fore and aft"),
        ("aft: [0, 9], fore: [0, 5], up: [[1, 2], [3, 4]]", "skin has aft and fore and up, needs three"),
        ("aft: [0, 9], up: [[1, 2], [3, 4]], left: [0, 5]", "skin.left comes last and is a list"),
        ("aft: [[0, 9]], left: [0, 5], up: [[1, 2], [3, 4]]", "skin.aft comes first and is a list of lists"),
        (
            "aft: [0, 9], left: [0, 5, 7], up: [[1, 2], [3, 4], [5, 6]]",
            "skin.up has 3 rows, needs 2, one for each",
        ),
        ("aft: [0, 9], left: [0, 5], up: [[1, 2], [3]]", "skin.up item 2 has 1 values, needs 2"),
        ("aft: [0], left: [0, 5], up: [[1, 2]]", "skin.aft lists 1, needs at least 2"),
        (
            "aft: [0, 9, 9], left: [0, 5], up: [[1, 2], [3, 4], [5, 6]]",
            "skin.aft item 3 goes from 9 to 9 mm",
        ),
        ("aft: [0, 9], left: [[0, 5], [5, 0, 2]], up: [[1, 2], [3, 4]]", "skin.left item 2 has 3 values, needs 2"),
        ("aft: [0, [9]], left: [0, 5], up: [[1, 2], [3, 4]]", "skin.aft item 2 mixes lengths and lists"),
        ("aft: 5, left: [0, 5], up: [[1, 2], [3, 4]]", "skin.aft is 5, needs a list of lengths"),
        (f"{GOOD}, side: upper", "skin.side is 'upper', needs outer, inner or middle"),
        (f"{GOOD}, between: -1", "skin.between is -1 mm, needs 0 mm or more"),
    ],
)
def test_skins_that_cannot_be_understood(tmp_path: Path, keys: str, what: str) -> None:
    rest = {"side": "inner", "thickness": "2", "between": "1"}
    more = "".join(f", {key}: {value}" for key, value in rest.items() if f"{key}:" not in keys)
    (told,) = whats(tmp_path, f"parts: {{it: {{skin: {{{keys}{more}}}}}}}")
    assert told.startswith(f"part 'it': {what}")


def test_between_has_to_be_stated(tmp_path: Path) -> None:
    assert whats(tmp_path, f"parts: {{it: {{skin: {{{GOOD}, side: inner, thickness: 2}}}}}}") == [
        "part 'it': skin needs between"
    ]
