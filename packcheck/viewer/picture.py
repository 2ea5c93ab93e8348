"""The bay drawn by the graphics library: parts, gaps with their sizes, extreme poses, datums.

Parts are handed to the library once; after that only their looks and places change, so that a nudge or a motion
costs no more than a new picture.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector
from packcheck.findings import Finding
from packcheck.frames import IDENTITY, Pose
from packcheck.report.pictures.eye import Eye
from packcheck.report.pictures.marks import OPEN, hue, size_words
from packcheck.report.pictures.overview import striking
from packcheck.report.text.printable import printable
from packcheck.surfaces import FAIL, INK, OTHER, Colour, Model, Surface, shade
from packcheck.viewer import sight
from packcheck.viewer.board import flat_lines, font_file, shares, words
from packcheck.viewer.controls import Controls
from packcheck.viewer.desk import Desk
from packcheck.viewer.piece import Looks, Piece, plane_at
from packcheck.viewer.traces import outlines

__all__ = ["Picture"]

VIEW_ANGLE: Final = 30.0  # degrees
FAINT: Final = 0.10  # how solid the rest of the bay is beside a pair
CALM: Final = 0.62  # how solid what is not short is in the whole bay
SKIN: Final = 0.15  # how solid body panels are in the whole bay
DASHES: Final = 4
LINE: Final = 5.0  # px
RIM: Final = 9.0  # px, the white round a line
THIN: Final = 1.6  # px, of an outline


@dataclass(slots=True)
class Picture:
    """A desk drawn into a plotter. What is to be seen changes with `show`; `hasty` leaves out what takes long."""

    controls: Controls
    plotter: Any
    hasty: bool = False
    pieces: dict[str, Piece] = field(default_factory=dict)
    names: dict[Any, str] = field(default_factory=dict)
    _model: Model | None = None
    _striking: Mapping[str, tuple[Colour, Colour | None]] = field(default_factory=dict)
    _marks: list[Any] = field(default_factory=list)
    _labels: list[tuple[Point, str]] = field(default_factory=list)
    _ends: list[Any] = field(default_factory=list)

    @property
    def desk(self) -> Desk:
        return self.controls.desk

    def show(self) -> None:
        """Everything as the desk has it, the camera aside."""
        if self._model is not self.desk.model:
            self._begin()
        carried, eye = sight.carried(self.desk), self.desk.eye()
        plane = self._plane(eye)
        for surface in self.desk.model.surfaces:
            self.pieces[surface.name].put(self._looks(surface, eye), carried.get(surface.name, IDENTITY), plane)
        self._clear(self._marks)
        self._labels.clear()
        self._add_gaps()
        if self.controls.shown.names:
            self._add_names(carried)
        if self.controls.shown.datums:
            self._add_datums()
        self._place_labels()
        self._write()
        self.outline()

    def _begin(self) -> None:
        """Hand the parts of a model to the library."""
        for piece in self.pieces.values():
            piece.remove()
        self._model = self.desk.model
        self._striking = striking(self.desk.report.findings)
        self.pieces = {s.name: Piece(s, self.plotter) for s in self.desk.model.surfaces}
        self.names = {piece.actor: name for name, piece in self.pieces.items()}

    def _clear(self, actors: list[Any]) -> None:
        for actor in actors:
            self.plotter.renderer.RemoveViewProp(actor)
        actors.clear()

    def look(self) -> None:
        """Put the camera where the finding is seen best, or where the whole bay is seen."""
        eye = self.desk.eye()
        middle, reach = sight.extent(self.desk)
        toward = self.desk.onlooker.liked if eye is None else eye.toward
        camera = self.plotter.camera
        camera.view_angle = VIEW_ANGLE
        camera.focal_point = middle
        camera.position = middle + toward * reach / np.sin(np.radians(VIEW_ANGLE / 2))
        camera.up = self.desk.onlooker.upright(toward)
        self.plotter.renderer.reset_camera_clipping_range()

    def _looks(self, surface: Surface, eye: Eye | None) -> Looks:
        """Colour, stripes and solidity of a part."""
        finding, shown = self.desk.finding, self.controls.shown
        if shown.hides(surface.kinds):
            return Looks(OTHER, None, 0.0)
        if finding is None or eye is None:
            struck = self._striking.get(surface.name)
            if "body" in surface.kinds:
                colour, stripes = struck or (shade(surface.kinds), None)
                return Looks(colour, stripes, SKIN if shown.skins else 0.0)
            return (
                Looks(struck[0], struck[1], 1.0)
                if struck
                else Looks(shade(surface.kinds), None, 1.0 if self.hasty else CALM)
            )
        own = hue(finding.verdict)
        if surface.name in finding.subjects:
            return Looks(own, None, 1.0) if surface.name == finding.subjects[0] else Looks(OTHER, own, 1.0)
        hidden = surface.name in eye.hiding or ("body" in surface.kinds and not shown.skins)
        return Looks(shade(surface.kinds), None, 0.0 if hidden else FAINT)

    def _plane(self, eye: Eye | None) -> Any:
        """The section, if there is one."""
        finding, shown = self.desk.finding, self.controls.shown
        if not shown.cutting or finding is None or eye is None:
            return None
        assert finding.points is not None
        return plane_at(finding.points.mean(axis=0) + eye.toward * shown.cut, -eye.toward)

    def _add_gaps(self) -> None:
        """Each gap as a line over everything, dashed where it is undecided, and its size."""
        told = [finding for finding in sight.drawn(self.desk) if finding.points is not None]
        for finding in told:
            assert finding.points is not None
            for colour, width, dashed in ((_WHITE, RIM, False), (INK, LINE, finding.verdict in OPEN)):
                self._mark(_flat_line(finding.points, colour, width, dashed=dashed))
        if len(told) == 1 or self.desk.nudging:
            self._add_sizes(told)
        elif told:
            middles = [finding.points.mean(axis=0) for finding in told if finding.points is not None]
            said = [f"{self.desk.number(finding)}.  {self._size(finding)}" for finding in told]
            self._labels += zip(middles, said, strict=True)

    def _size(self, finding: Finding) -> str:
        return size_words(finding, self.desk.report_units)

    def _add_sizes(self, told: Sequence[Finding]) -> None:
        """Sizes that stand over their gaps, square to them, clear of the line."""
        for finding in told:
            said = self._size(finding)
            if said and finding.points is not None:
                at = words(said, 0, 0, size=18, bold=True, ground=True)
                at.GetTextProperty().SetJustificationToCentered()
                place = at.GetPositionCoordinate()
                place.SetCoordinateSystemToWorld()
                place.SetValue(*(finding.points.mean(axis=0) + self._aside(finding)))
                self._mark(at)

    def _aside(self, finding: Finding) -> Vector:
        """From the middle of a gap to the middle of its size, mm: square to the gap in the picture, upward."""
        assert finding.points is not None
        camera = self.plotter.camera
        ahead = np.array(camera.focal_point) - np.array(camera.position)
        square = np.cross(ahead, finding.points[1] - finding.points[0])
        up = np.array(camera.up)
        if float(np.linalg.norm(square)) < 1e-9 or abs(float(square @ up)) < 0.3 * float(np.linalg.norm(square)):
            square = up  # a gap that runs up or at the viewer: over its middle
        square = square / np.linalg.norm(square)
        away: Vector = square * np.copysign(1.0, square @ up) * sight.extent(self.desk)[1] / 9
        return away

    def _mark(self, actor: Any) -> None:
        self.plotter.renderer.AddViewProp(actor)
        self._marks.append(actor)

    def _add_names(self, carried: dict[str, Pose]) -> None:
        seen = [s for s in self.desk.model.surfaces if self.pieces[s.name].solid > 0]
        middles = [carried.get(s.name, IDENTITY).apply(s.vertices.mean(axis=0)) for s in seen]
        self._labels += zip(middles, [printable(surface.name) for surface in seen], strict=True)

    def _add_datums(self) -> None:
        datums = {"car": None, **self.desk.bay.assembly.datums.frames}
        length = sight.extent(self.desk)[1] / 8
        for name, pose in datums.items():
            origin = np.zeros(3) if pose is None else pose.translation
            axes = np.eye(3) if pose is None else pose.rotation
            tips = [origin + axis * length for axis in axes.T]
            for tip in tips:
                self._mark(_flat_line(np.array([origin, tip]), INK, 2.0))
            self._labels += zip([origin, *tips], [printable(name), "x", "y", "z"], strict=True)

    def _place_labels(self) -> None:
        """All words that stand at points, together: the library leaves out what would cover others."""
        if not self._labels:
            return
        actor = self.plotter.add_point_labels(
            np.array([point for point, _ in self._labels]),
            [said for _, said in self._labels],
            font_size=12,
            font_file=font_file(),
            text_color=shares(INK),
            shape_color="white",
            shape_opacity=0.9,
            show_points=False,
            always_visible=True,
            render=False,
        )
        self._marks.append(actor)

    def _write(self) -> None:
        """The title above, what was said last below."""
        finding = self.desk.finding
        height = self.plotter.renderer.GetSize()[1]
        first, *rest = sight.title(self.desk).split("\n")
        short = finding is not None and hue(finding.verdict) == FAIL
        self._mark(words(first, 14, height - 20, size=15, colour=FAIL if short else INK, bold=True, ground=True))
        for k, line in enumerate(rest):
            self._mark(words(line, 14, height - 44 - 20 * k, size=13, ground=True))
        said = [*self.desk.said, *(["searching what moves \u2026"] if self.desk.searching else [])]
        for k, line in enumerate(reversed(said)):
            self._mark(words(line, 14, 18 + 20 * k, ground=True))

    def outline(self) -> None:
        """The extreme poses as the camera sees them now."""
        self._clear(self._ends)
        if self.controls.shown.ends:
            self._ends = list(self._outlines())
            for actor in self._ends:
                self.plotter.renderer.AddViewProp(actor)

    def _outlines(self) -> Iterator[Any]:
        surfaces = {surface.name: surface for surface in self.desk.model.surfaces}
        width, height = self.plotter.renderer.GetSize()
        for name, pose in sight.extremes(self.desk):
            surface = surfaces[name]
            if not self.controls.shown.hides(surface.kinds):
                seen, depth = self._project(pose.apply(surface.vertices))
                drawn = outlines(seen, depth, surface.faces, (width, height), THIN)
                if len(drawn):
                    yield flat_lines(drawn * [1.0, -1.0] + [0.0, height], INK, THIN)

    def forget_outline(self) -> None:
        """Take the extreme poses away while the camera moves."""
        self._clear(self._ends)

    def pixel(self, point: Point) -> Floats:
        """Where a point (3,) mm appears, px from the left and from the top of the window."""
        left = self.plotter.renderer.GetOrigin()[0]
        seen: Floats = self._project(point[None])[0][0] + [left, 0.0]
        return seen

    def _project(self, points: Points) -> tuple[Floats, Floats]:
        """Where points (n, 3) mm appear (n, 2), px in the picture from the upper left, and their depths (n,) mm.

        By the camera alone. Perspective: what is `depth` in front of the eye is seen at height / 2 / tan(angle / 2)
        px for each mm aside at that depth of 1 mm.
        """
        camera = self.plotter.camera
        eye, aim = np.array(camera.position), np.array(camera.focal_point)
        ahead = (aim - eye) / np.linalg.norm(aim - eye)
        right = np.cross(ahead, np.array(camera.up))
        right /= np.linalg.norm(right)
        width, height = self.plotter.renderer.GetSize()
        out = points - eye
        depth = out @ ahead
        scale = height / 2 / np.tan(np.radians(camera.view_angle / 2)) / np.where(depth > 1.0, depth, 1.0)
        up = np.cross(right, ahead)
        return np.column_stack([width / 2 + out @ right * scale, height / 2 - out @ up * scale]), depth


_WHITE: Final = (255, 255, 255)


def _flat_line(points: Floats, colour: Colour, width: float, *, dashed: bool = False) -> Any:
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
    actor.GetProperty().SetColor(*shares(colour))
    actor.GetProperty().SetLineWidth(width)
    return actor
