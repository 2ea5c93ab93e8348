"""Outlines of parts in another position: long dashes and double dots, round what the camera sees."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.viewer.drafting import ALTERNATE, dashed
from packcheck.viewer.traces import outlines

SQUARE = np.array([[0.0, 0.0], [105.0, 0.0], [105.0, 105.0], [0.0, 105.0]])


def test_the_pattern_is_a_long_dash_and_two_dots() -> None:
    """Oracle: ISO 128-2, line type 05.1, from memory: dash 24 d, gap 3 d, dots, gaps 3 d. 35 d is 35 px at 1 px."""
    assert ALTERNATE == (24.0, 3.0, 1.0, 3.0, 1.0, 3.0)
    pieces = dashed(SQUARE, 1.0)
    first = pieces[:3]
    assert first[:, :, 1] == pytest.approx(np.zeros((3, 2)))
    assert first[:, :, 0] == pytest.approx(np.array([[0.0, 24.0], [27.0, 28.0], [31.0, 32.0]]))


def test_so_much_of_the_line_is_drawn_as_the_pattern_says() -> None:
    """Oracle: closed form. 26 of 35 parts of the way round are drawn; 420 px hold the pattern 12 times."""
    lengths = np.linalg.norm(np.diff(dashed(SQUARE, 1.0), axis=1), axis=2).sum()
    assert lengths == pytest.approx(420 * 26 / 35)


def test_a_line_that_holds_no_whole_number_of_patterns_has_it_stretched() -> None:
    pieces = dashed(SQUARE * 1.1, 1.0)
    assert np.linalg.norm(np.diff(pieces, axis=1), axis=2).sum() == pytest.approx(420 * 1.1 * 26 / 35)


def test_a_dash_round_a_corner_stays_on_the_line() -> None:
    pieces = dashed(SQUARE, 1.7).reshape(-1, 2)
    on_side = (np.abs(pieces) < 1e-6).any(axis=1) | (np.abs(pieces - 105.0) < 1e-6).any(axis=1)
    assert on_side.all()


@pytest.mark.parametrize("loop", [np.empty((0, 2)), np.zeros((1, 2)), np.zeros((4, 2))])
def test_a_loop_without_length_has_no_dashes(loop: np.ndarray) -> None:
    assert dashed(loop, 1.0).shape == (0, 2, 2)


def test_an_outline_runs_round_the_part_as_it_is_seen() -> None:
    """Oracle: by head. A disc of 100 px seen round (300, 200): every piece within 2 px of its rim."""
    angles = np.linspace(0, 2 * np.pi, 65)[:-1]
    rim = np.column_stack([300 + 100 * np.cos(angles), 200 + 100 * np.sin(angles)])
    seen = np.vstack([[[300.0, 200.0]], rim])
    faces = np.array([[0, 1 + k, 1 + (k + 1) % 64] for k in range(64)])
    pieces = outlines(seen, np.full(65, 500.0), faces, (800, 600), 1.6)
    radii = np.linalg.norm(pieces.reshape(-1, 2) - [300, 200], axis=1)
    assert radii == pytest.approx(np.full(len(radii), 100.0), abs=2.0)
    drawn = np.linalg.norm(np.diff(pieces, axis=1), axis=2).sum()
    assert drawn == pytest.approx(2 * np.pi * 100 * 26 / 35, rel=0.06)


def test_what_is_behind_the_eye_or_beside_the_picture_has_no_outline() -> None:
    seen = np.array([[10.0, 10.0], [90.0, 10.0], [50.0, 80.0]])
    faces = np.array([[0, 1, 2]])
    assert len(outlines(seen, np.full(3, -5.0), faces, (200, 200), 1.6)) == 0
    assert len(outlines(seen - 500, np.full(3, 5.0), faces, (200, 200), 1.6)) == 0
    assert len(outlines(seen, np.full(3, 5.0), faces, (200, 200), 1.6)) > 0
