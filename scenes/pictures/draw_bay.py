"""Draws the demo bay for the README: the parts that clash stand out, as they do so; everything else stands back.

    pip install pyvista
    python scenes/pictures/draw_bay.py

Writes hillclimb_rear_bay.png beside this file. Nothing is measured here: shapes, places and findings are
packcheck's own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyvista as pv
from PIL import Image, ImageDraw, ImageFont

import packcheck
from packcheck.arrays import Point, Vector
from packcheck.findings import Finding
from packcheck.frames import Pose
from packcheck.moving.stances import stance
from packcheck.proximity import Placed
from packcheck.solids.core.solid import Solid

SCENE = Path(__file__).parents[1] / "hillclimb_rear_bay.yaml"
PICTURE = Path(__file__).with_name("hillclimb_rear_bay.png")

INK, ORANGE, BLUE = "#20262b", "#e58a00", "#0072b2"  # apart for every colour vision; neither says good or bad
SHADES = {  # kind: colour and opacity; the first of a part's kinds that is listed here counts
    "body": ("#b9c3ca", 0.22),
    "wheel": ("#d6d3cd", 0.07),
    "structure": ("#868e95", 0.95),
    "exhaust": ("#b79c8c", 0.95),
    "air": ("#cdd6dc", 0.80),
    "engine": ("#c6c1b7", 0.85),
}
OTHER_SHADE = ("#d6d3cd", 0.70)

SIZE, SHARPER = (1400, 920), 2  # px; drawn larger, then scaled down, for smooth edges
EYE, AIM, ANGLE = (1500.0, 1330.0, 1640.0), (520.0, 30.0, 290.0), 37.0  # mm, mm, degrees
ASIDE = (0.16, 0.02)  # half widths and heights: the bay stands left of the middle, the close-ups right of it
CLOSE, CLOSE_SPAN = 270, 130.0  # px, mm: side of a close-up, and what it shows
CLOSE_LEFT, CLOSE_TOPS = 1106, (110, 540)  # px
COARSE = 4  # of 255: steps of brightness that nobody sees, and a third of the file

LABELS = {  # words: the point they mean (mm, car frame), where they stand (px)
    "seat bulkhead": ((0, 300, 500), (1010, 175)),
    "intake plenum": ((330, 270, 560), (905, 84)),
    "engine": ((330, -10, 565), (720, 46)),
    "exhaust manifold": ((640, -218, 345), (470, 46)),
    "rear deck, shut; it lifts about its hinge": ((700, -400, 650), (215, 84)),
    "hinge": ((1135, -200, 598), (60, 270)),
    "gearbox": ((780, 30, 320), (400, 830)),
    "space frame": ((1135, 300, 350), (160, 800)),
}
HINGE = ((1135, -330, 598), (1135, 330, 598))  # mm, car frame


@dataclass(slots=True)
class View:
    """A camera looking at parts, and the picture it takes."""

    size: tuple[int, int]
    plotter: pv.Plotter = field(init=False)

    def __post_init__(self) -> None:
        self.plotter = pv.Plotter(off_screen=True, window_size=[side * SHARPER for side in self.size])
        self.plotter.set_background("white")
        # Parts seen through each other come out in the right order only without multisampling.
        self.plotter.render_window.SetMultiSamples(0)
        self.plotter.render_window.SetAlphaBitPlanes(1)
        self.plotter.enable_depth_peeling(16, occlusion_ratio=0.0)

    def add(self, part: Placed, colour: str, opacity: float) -> None:
        for surface in surfaces(part):
            self.plotter.add_mesh(
                surface, color=colour, opacity=opacity, smooth_shading=True, split_sharp_edges=True, ambient=0.22
            )

    def look(self, eye: Point, aim: Point, angle: float, aside: tuple[float, float] = (0.0, 0.0)) -> None:
        camera = self.plotter.camera
        camera.position, camera.focal_point, camera.up, camera.view_angle = eye, aim, (0, 0, 1), angle
        camera.SetWindowCenter(*aside)
        self.plotter.renderer.reset_camera_clipping_range()

    def picture(self) -> Image.Image:
        shot = Image.fromarray(self.plotter.screenshot(return_img=True))
        return shot.resize(self.size, Image.Resampling.LANCZOS)

    def pixel(self, point: Point) -> tuple[float, float]:
        """Where a point (3,) mm, car frame, appears in the picture, px from its top left corner."""
        renderer = self.plotter.renderer
        renderer.SetWorldPoint(*point, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        return x / SHARPER, self.size[1] - y / SHARPER


def surfaces(part: Placed) -> Iterator[pv.PolyData]:
    for solid in part.solids:
        surface = rounded(solid) if solid.radius else faceted(solid)
        surface.points = part.pose.apply(np.asarray(surface.points, dtype=float))
        yield surface


def faceted(solid: Solid) -> pv.PolyData:
    return pv.PolyData.from_regular_faces(np.array(solid.vertices), np.array(solid.faces))


def rounded(solid: Solid) -> pv.PolyData:
    """A ball, a bar with round ends, or a tube along the polyline."""
    points = np.array(solid.vertices)
    if len(points) == 1:
        return pv.Sphere(radius=solid.radius, center=points[0], theta_resolution=64, phi_resolution=64)
    if len(points) == 2:
        along, middle = points[1] - points[0], points.mean(axis=0)
        long = float(np.linalg.norm(along))
        bar = pv.Capsule(center=middle, direction=along, radius=solid.radius, cylinder_length=long, resolution=48)
        return bar.extract_surface(algorithm="dataset_surface")
    return pv.MultipleLines(points).tube(radius=solid.radius, n_sides=40, capping=True)


def main() -> None:
    bay = packcheck.load(SCENE)
    findings = bay.check(moves=False).findings
    clashes = [finding for finding in findings if finding.word == "clash"][:2]
    view = whole_bay(bay, clashes)
    picture = view.picture()
    start, end = (view.pixel(np.array(point, dtype=float)) for point in HINGE)
    dashed(picture, start, end)
    for words, (point, place) in LABELS.items():
        label(picture, words, view.pixel(np.array(point, dtype=float)), place)
    for clash, top in zip(clashes, CLOSE_TOPS, strict=True):
        show_close_up(picture, close_up(bay, clash), clash, view.pixel(middle(clash)), top)
    coarser = picture.point(lambda shade: min(255, round(shade / COARSE) * COARSE))
    coarser.save(PICTURE, optimize=True)


def whole_bay(bay: packcheck.Bay, clashes: Sequence[Finding]) -> View:
    view = View(SIZE)
    bright = {
        name: colour for clash in clashes for name, colour in zip(clash.subjects, (ORANGE, BLUE), strict=True)
    }
    for name, part in parts_at(bay, clashes).items():
        view.add(part, *((bright[name], 1.0) if name in bright else shade(bay.assembly.scene.parts[name].kinds)))
    view.look(np.array(EYE), np.array(AIM), ANGLE, ASIDE)
    return view


def parts_at(bay: packcheck.Bay, findings: Sequence[Finding]) -> dict[str, Placed]:
    """The parts where they stand when these findings are decided."""
    parts = dict(bay.assembly.parts)
    for finding in findings:
        for name, (rotation, translation) in stance(bay.assembly, finding.pose).moved.items():
            parts[name] = parts[name].at(Pose(rotation, translation) @ parts[name].pose)
    return parts


def shade(kinds: tuple[str, ...]) -> tuple[str, float]:
    return next((SHADES[kind] for kind in kinds if kind in SHADES), OTHER_SHADE)


def close_up(bay: packcheck.Bay, clash: Finding) -> Image.Image:
    """The two parts alone, seen square to the way out, with the witness segment."""
    view = View((CLOSE, CLOSE))
    parts = parts_at(bay, [clash])
    for name, colour in zip(clash.subjects, (ORANGE, BLUE), strict=True):
        view.add(parts[name], colour, 0.55)
    assert clash.direction is not None
    away = square_to(clash.direction, np.array(EYE) - np.array(AIM))
    view.look(middle(clash) + away * 2 * CLOSE_SPAN, middle(clash), np.degrees(2 * np.arctan(0.25)))
    picture = view.picture()
    ends = [view.pixel(point) for point in witness(clash)]
    ImageDraw.Draw(picture).line(ends, fill=INK, width=5)
    return picture


def square_to(direction: Vector, wanted: Vector) -> Vector:
    """The unit vector square to `direction` that comes nearest to `wanted`."""
    flat = wanted - direction * float(direction @ wanted)
    away: Vector = flat / np.linalg.norm(flat)
    return away


def witness(clash: Finding) -> list[Point]:
    assert clash.points is not None
    return list(clash.points)


def middle(clash: Finding) -> Point:
    centre: Point = np.mean(witness(clash), axis=0)
    return centre


def show_close_up(
    picture: Image.Image, close: Image.Image, clash: Finding, place: tuple[float, float], top: int
) -> None:
    """Paste a close-up, tie it to its place in the bay, and say what it shows."""
    draw = ImageDraw.Draw(picture)
    box = (CLOSE_LEFT, top, CLOSE_LEFT + CLOSE, top + CLOSE)
    draw.line([(box[0], (box[1] + box[3]) / 2), place], fill=INK, width=2)
    draw.ellipse([place[0] - 6, place[1] - 6, place[0] + 6, place[1] + 6], outline=INK, fill="white", width=2)
    picture.paste(close, box[:2])
    draw.rectangle(box, outline=INK, width=2)
    assert clash.value is not None
    first, second = clash.subjects
    draw.text((box[0], top - 56), first, fill=ORANGE, font=font(20))
    draw.text((box[0], top - 30), second, fill=BLUE, font=font(20))
    draw.text((box[0], box[3] + 6), f"{clash.word}: {-clash.value:.1f} mm deep", fill=INK, font=font(22))


def label(picture: Image.Image, words: str, point: tuple[float, float], place: tuple[int, int]) -> None:
    draw = ImageDraw.Draw(picture)
    draw.line([place, point], fill=INK, width=1)
    draw.ellipse([point[0] - 3, point[1] - 3, point[0] + 3, point[1] + 3], fill=INK)
    draw.text(place, words, fill=INK, font=font(20), anchor="mm", stroke_width=5, stroke_fill="white")


def dashed(picture: Image.Image, start: tuple[float, float], end: tuple[float, float]) -> None:
    marks = np.linspace(start, end, 26)
    for first, second in zip(marks[::2], marks[1::2], strict=True):
        ImageDraw.Draw(picture).line([*first, *second], fill=INK, width=2)


def font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


if __name__ == "__main__":
    main()
