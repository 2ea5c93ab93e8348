"""The map of places drawn from above: what is where, read back from the pixels."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from packcheck.arrays import frozen, frozen_faces
from packcheck.report.slice_sheet import slice_svg
from packcheck.report.slices import WIDTH, slice_png
from packcheck.surfaces import INK, MapSlice, Surface

BOX = np.array([[0.0, 0, 0], [400, 200, 100]])
STATES = np.full((4, 2, 2), 2, dtype=np.int8)
STATES[0, 0, 0] = 1  # the corner of least x and y, below
STATES[3, 1, 0] = 0  # the opposite one
FAR = frozen([-1e3, -1e3, 0])


def picture(
    axes: tuple[str, str, str] = ("aft", "right", "up"), height: float = 20.0, **more: object
) -> np.ndarray:
    facts: dict[str, object] = {"parts": (), "here": FAR, "spots": (), **more}
    drawn = MapSlice(STATES, BOX, axes, height, **facts)  # type: ignore[arg-type]
    return np.asarray(Image.open(io.BytesIO(slice_png(drawn))).convert("RGB")).astype(int)


def kind(pixel: np.ndarray) -> str:
    red, _, blue = pixel
    return "fits" if abs(red - blue) < 12 else "not" if red > blue else "undecided"


@pytest.mark.parametrize(
    ("axes", "fits_at"),
    [(("aft", "right", "up"), (0, 0)), (("fore", "left", "up"), (-1, -1)), (("right", "fore", "up"), (-1, 0))],
)
def test_forward_is_up_and_left_is_left(axes: tuple[str, str, str], fits_at: tuple[int, int]) -> None:
    """Oracle: by hand. The cell of least x and y is the foremost and leftmost with x aft and y right."""
    pixels = picture(axes)
    assert max(pixels.shape) == pytest.approx(WIDTH, abs=1)
    assert kind(pixels[fits_at]) == "fits"
    assert kind(pixels[tuple(-1 - at for at in fits_at)]) == "not"
    assert kind(pixels[pixels.shape[0] // 2, pixels.shape[1] // 2]) == "undecided"


def test_another_height_is_another_layer() -> None:
    """Oracle: by hand. Above, nothing is decided."""
    assert {kind(pixel) for pixel in picture(height=80.0)[::20, ::20].reshape(-1, 3)} == {"undecided"}


def test_parts_are_cut_and_places_marked() -> None:
    """Oracle: by hand. A sheet at y = 100, a place in the middle of one cell, the part in that of another."""
    corners = frozen([[0, 100, -50], [400, 100, -50], [400, 100, 150], [0, 100, 150]])
    wall = Surface("wall", (), corners, frozen_faces([[0, 1, 2], [0, 2, 3]]))
    pixels = picture(parts=(wall,), here=frozen([150, 50, 0]), spots=(frozen([250, 150, 25]),))
    scale = WIDTH / 400
    assert (pixels[:, round(100 * scale)] == INK).all(axis=1).mean() > 0.95
    assert tuple(pixels[round(150 * scale), round(50 * scale)]) == INK
    assert tuple(pixels[round(250 * scale), round(150 * scale)]) == INK
    clean = picture()
    assert not (clean == INK).all(axis=2).any()


def test_the_same_map_gives_the_same_bytes() -> None:
    drawn = MapSlice(STATES, BOX, ("aft", "right", "up"), 20.0, (), FAR, ())
    assert slice_png(drawn) == slice_png(drawn)


def test_a_sheet_names_parts_and_places_and_says_what_colours_mean() -> None:
    """Oracle: by hand. One part and one place stand at that height; a name is only a name, whatever it holds."""
    corners = frozen([[0, 100, -50], [400, 100, -50], [400, 100, 150], [0, 100, 150]])
    wall = Surface("<b>wall&", (), corners, frozen_faces([[0, 1, 2], [0, 2, 3]]))
    above = Surface("above", (), frozen(np.add(corners, [0, 0, 300])), wall.faces)
    spots = (frozen([250, 150, 25]), frozen([250, 50, 95]))
    drawn = MapSlice(STATES, BOX, ("aft", "right", "up"), 20.0, (wall, above), FAR, spots)
    root = ElementTree.fromstring(slice_svg(drawn, "tank", "mm"))
    said = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "tank: places for its middle, 20.0 mm up" in said
    assert {"<b>wall&", "place 1", "does not fit", "fits", "undecided"} <= set(said)
    assert not {"above", "place 2"} & set(said)


def test_a_height_below_zero_is_told_as_down() -> None:
    """Oracle: by head."""
    drawn = MapSlice(STATES, BOX - [0, 0, 100], ("aft", "right", "up"), -30.0, (), FAR, ())
    assert "tank: places for its middle, 30.0 mm down" in slice_svg(drawn, "tank", "mm")
