"""The bay drawn by the graphics library: parts, the gap of the finding looked at, its size, datums."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from packcheck.arrays import Floats, Point
from packcheck.findings import Finding
from packcheck.report.pictures.eye import Eye
from packcheck.report.pictures.marks import OPEN, hue, size_words
from packcheck.surfaces import FAIL, INK, OTHER, Colour, Surface, shade
from packcheck.viewer.desk import Desk

__all__ = ["Picture"]

VIEW_ANGLE: Final = 30.0  # degrees
FAINT: Final = 0.10  # how solid the rest of the bay is beside a pair
SKIN: Final = 0.15  # how solid body panels are in the whole bay
DASHES: Final = 4
LINE: Final = 5.0  # px
STRIPES: Final = """//VTK::Color::Impl
  if (mod(gl_FragCoord.x + gl_FragCoord.y, 14.0) < 5.0) {{
    diffuseColor = vec3({0}, {1}, {2});
    ambientColor = 0.25 * diffuseColor;
  }}
"""


@dataclass(slots=True)
class Picture:
    """A desk drawn into a plotter. What is to be seen changes with `show`."""

    desk: Desk
    plotter: Any
    cutting: bool = False
    skins: bool = True
    labels: bool = False
    datums: bool = False
    hidden: set[str] = field(default_factory=set)
    names: dict[Any, str] = field(default_factory=dict)

    def show(self) -> None:
        """Everything anew, as the desk has it, the camera aside."""
        self.plotter.clear_actors()
        self.names.clear()
        eye, finding = self.desk.eye(), self.desk.finding
        for surface in self._surfaces():
            self._add(surface, *self._looks(surface, finding, eye))
        if finding is not None and finding.points is not None:
            self._add_gap(finding)
        if self.labels:
            self._add_names()
        if self.datums:
            self._add_datums()
        self._write()

    def look(self) -> None:
        """Put the camera where the finding is seen best, or where the whole bay is seen."""
        eye = self.desk.eye()
        middle, reach = self.desk.extent()
        toward = self.desk.onlooker.liked if eye is None else eye.toward
        camera = self.plotter.camera
        camera.view_angle = VIEW_ANGLE
        camera.focal_point = middle
        camera.position = middle + toward * reach / np.sin(np.radians(VIEW_ANGLE / 2))
        camera.up = self.desk.onlooker.upright(toward)
        self.plotter.renderer.reset_camera_clipping_range()

    def _surfaces(self) -> Sequence[Surface]:
        return [surface for surface in self.desk.shown() if not self.hidden & set(surface.kinds)]

    def _looks(
        self, surface: Surface, finding: Finding | None, eye: Eye | None
    ) -> tuple[Colour, Colour | None, float]:
        """Colour, stripes and solidity of a part."""
        if finding is None or eye is None:
            skin = "body" in surface.kinds
            colour, stripes = self.desk.striking.get(surface.name, (shade(surface.kinds), None))
            return colour, stripes, (SKIN if self.skins else 0.0) if skin else 1.0
        own = hue(finding.verdict)
        if surface.name in finding.subjects:
            first = surface.name == finding.subjects[0]
            return (own, None, 1.0) if first else (OTHER, own, 1.0)
        return shade(surface.kinds), None, 0.0 if surface.name in eye.hiding else FAINT

    def _add(self, surface: Surface, colour: Colour, stripes: Colour | None, solid: float) -> None:
        import pyvista as pv

        if solid <= 0:
            return
        faces: Any = np.array(surface.faces)
        mesh = pv.PolyData.from_regular_faces(np.array(surface.vertices), faces)
        actor = self.plotter.add_mesh(mesh, color=_shares(colour), opacity=solid, ambient=0.25, pickable=solid >= 1)
        if stripes is not None:
            text = STRIPES.format(*(f"{share:.4f}" for share in _shares(stripes)))
            actor.GetShaderProperty().AddFragmentShaderReplacement("//VTK::Color::Impl", True, text, False)
        if self.cutting and self.desk.finding is not None:
            actor.mapper.AddClippingPlane(self._plane())
        self.names[actor] = surface.name

    def _plane(self) -> Any:
        from vtkmodules.vtkCommonDataModel import vtkPlane

        eye, finding = self.desk.eye(), self.desk.finding
        assert eye is not None and finding is not None and finding.points is not None
        plane = vtkPlane()
        plane.SetOrigin(*finding.points.mean(axis=0))
        plane.SetNormal(*(-eye.toward))
        return plane

    def _add_gap(self, finding: Finding) -> None:
        """The gap as a line over everything, dashed where it is undecided, and its size."""
        assert finding.points is not None
        self.plotter.add_actor(_flat_line(finding.points, dashed=finding.verdict in OPEN), render=False)
        said, eye = size_words(finding, self.desk.report_units), self.desk.eye()
        if said and eye is not None:
            aside = eye.upright * self.desk.extent()[1] / 9
            self._label([finding.points.mean(axis=0) + aside], [said], 18)

    def _add_names(self) -> None:
        surfaces = self._surfaces()
        middles = [surface.vertices.mean(axis=0) for surface in surfaces]
        if middles:
            self._label(middles, [surface.name for surface in surfaces], 12)

    def _add_datums(self) -> None:
        datums = {"car": None, **self.desk.bay.assembly.datums.frames}
        length = self.desk.extent()[1] / 8
        for name, pose in datums.items():
            origin = np.zeros(3) if pose is None else pose.translation
            axes = np.eye(3) if pose is None else pose.rotation
            for axis in axes.T:
                self.plotter.add_actor(_flat_line(np.array([origin, origin + axis * length])), render=False)
            self._label([origin], [name], 12)

    def _label(self, points: Sequence[Point], words: Sequence[str], size: int) -> None:
        self.plotter.add_point_labels(
            np.array(points),
            list(words),
            font_size=size,
            text_color=_shares(INK),
            shape_color="white",
            shape_opacity=0.85,
            show_points=False,
            always_visible=True,
            render=False,
        )

    def _write(self) -> None:
        ink = _shares(INK if self.desk.finding is None or hue(self.desk.finding.verdict) != FAIL else FAIL)
        self.plotter.add_text(self.desk.title(), position="upper_left", font_size=11, color=ink, name="title")
        said = "\n".join(self.desk.said)
        self.plotter.add_text(said, position="lower_left", font_size=9, color=_shares(INK), name="said")

    def pixel(self, point: Point) -> Floats:
        """Where a point (3,) mm appears, px from the left and from the top, by the camera alone.

        Perspective: what is `depth` in front of the eye is seen at height / 2 / tan(angle / 2) px for each mm
        aside at that depth of 1 mm.
        """
        camera = self.plotter.camera
        eye, aim = np.array(camera.position), np.array(camera.focal_point)
        ahead = (aim - eye) / np.linalg.norm(aim - eye)
        right = np.cross(ahead, np.array(camera.up))
        right /= np.linalg.norm(right)
        width, height = self.plotter.window_size
        out = point - eye
        scale = height / 2 / np.tan(np.radians(camera.view_angle / 2)) / float(out @ ahead)
        return np.array([width / 2 + out @ right * scale, height / 2 - out @ np.cross(right, ahead) * scale])


def _shares(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = (part / 255 for part in colour)
    return red, green, blue


def _flat_line(points: Floats, *, dashed: bool = False) -> Any:
    """A line between two points (2, 3) mm that shows over everything, some px wide whatever the distance."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkCoordinate, vtkPolyDataMapper2D

    cuts = np.linspace(0, 1, 2 * DASHES) if dashed else np.array([0.0, 1.0])
    start, along = points[0], points[1] - points[0]
    line = pv.line_segments_from_points(start + cuts[:, None] * along)
    world = vtkCoordinate()
    world.SetCoordinateSystemToWorld()
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(line)
    mapper.SetTransformCoordinate(world)
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*_shares(INK))
    actor.GetProperty().SetLineWidth(LINE)
    return actor
