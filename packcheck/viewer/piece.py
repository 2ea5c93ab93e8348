"""One part in the graphics library: handed over once, then painted, put and cut."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from packcheck.arrays import Vector
from packcheck.frames import IDENTITY, Pose
from packcheck.surfaces import INK, Colour, Surface
from packcheck.viewer.board import shares

__all__ = ["Looks", "Piece", "plane_at"]

EDGED: Final = 4000  # faces; larger meshes get no lines along their edges
CREASE: Final = 30.0  # degrees
STRIPES: Final = """//VTK::Color::Impl
  if (mod(gl_FragCoord.x + gl_FragCoord.y, 14.0) < 5.0) {{
    diffuseColor = vec3({0}, {1}, {2});
    ambientColor = 0.25 * diffuseColor;
  }}
"""


@dataclass(frozen=True, slots=True)
class Looks:
    """Colour, stripes over it, and how solid a part is, 0 to 1."""

    colour: Colour
    stripes: Colour | None
    solid: float


def plane_at(point: Vector, normal: Vector) -> Any:
    """The plane through `point` (3,) mm that leaves what `normal` (3,) points to."""
    from vtkmodules.vtkCommonDataModel import vtkPlane

    plane = vtkPlane()
    plane.SetOrigin(*point)
    plane.SetNormal(*normal)
    return plane


@dataclass(slots=True)
class Piece:
    """A surface in a plotter, with lines along its edges, and the face that a section leaves of it."""

    surface: Surface
    plotter: Any
    actor: Any = field(init=False)
    _mesh: Any = field(init=False)
    _edges: Any = None
    _face: Any = None
    _looks: Looks | None = None
    _pose: Pose = IDENTITY
    _plane: Any = None

    def __post_init__(self) -> None:
        import pyvista as pv

        faces: Any = np.array(self.surface.faces)
        self._mesh = pv.PolyData.from_regular_faces(np.array(self.surface.vertices), faces)
        self.actor = self._added(self._mesh, ambient=0.25)
        if len(faces) <= EDGED:
            edges = self._mesh.extract_feature_edges(CREASE, non_manifold_edges=False, manifold_edges=False)
            if edges.n_points:
                self._edges = self._added(edges, color=shares(INK), line_width=1, lighting=False, pickable=False)

    def _added(self, mesh: Any, **looks: Any) -> Any:
        return self.plotter.add_mesh(mesh, reset_camera=False, render=False, **looks)

    @property
    def solid(self) -> float:
        """How solid it is now."""
        return 0.0 if self._looks is None else self._looks.solid

    def remove(self) -> None:
        for actor in (self.actor, self._edges, self._face):
            if actor is not None:
                self.plotter.renderer.RemoveViewProp(actor)

    def put(self, looks: Looks, pose: Pose, plane: Any = None) -> None:
        """Paint it, put it to `pose` from where its surface stands, cut it with `plane`."""
        if looks != self._looks:
            self._paint(looks)
        if pose is not self._pose:
            self._pose = pose
            for actor in self._actors:
                actor.user_matrix = _matrix(pose)
        if plane is not None or self._plane is not None:
            self._plane = plane
            for actor in self._actors:
                actor.mapper.RemoveAllClippingPlanes()
                if plane is not None:
                    actor.mapper.AddClippingPlane(plane)
            self._cap(looks, plane)

    @property
    def _actors(self) -> list[Any]:
        return [self.actor] if self._edges is None else [self.actor, self._edges]

    def _paint(self, looks: Looks) -> None:
        self._looks = looks
        self.actor.visibility = looks.solid > 0
        _coloured(self.actor, looks)
        self.actor.pickable = looks.solid >= PICKED
        if self._edges is not None:
            self._edges.visibility = looks.solid > 0
            self._edges.prop.opacity = 0.75 if looks.solid >= 1 else looks.solid / 2

    def _cap(self, looks: Looks, plane: Any) -> None:
        """The face of the section, of what is solid."""
        if self._face is not None:
            self.plotter.renderer.RemoveViewProp(self._face)
            self._face = None
        if plane is None or looks.solid < 1:
            return
        placed = self._mesh.transform(_matrix(self._pose), inplace=False)
        face = _section(placed, plane)
        if face.n_cells:
            self._face = self._added(face, lighting=False, pickable=False)
            _coloured(self._face, looks)


PICKED: Final = 0.5
"""How solid a part must be to be picked."""


def _matrix(pose: Pose) -> Any:
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = pose.rotation, pose.translation
    return matrix


def _coloured(actor: Any, looks: Looks) -> None:
    actor.prop.color = shares(looks.colour)
    actor.prop.opacity = looks.solid
    shaders = actor.GetShaderProperty()
    shaders.ClearAllFragmentShaderReplacements()
    if looks.stripes is not None:
        text = STRIPES.format(*(f"{share:.4f}" for share in shares(looks.stripes)))
        shaders.AddFragmentShaderReplacement("//VTK::Color::Impl", True, text, False)


def _section(mesh: Any, plane: Any) -> Any:
    """The area that a plane cuts out of a closed mesh; of an open one nothing, as it has no inside."""
    import pyvista as pv
    from vtkmodules.vtkFiltersCore import vtkCutter
    from vtkmodules.vtkFiltersGeneral import vtkContourTriangulator

    cutter = vtkCutter()
    cutter.SetInputData(mesh)
    cutter.SetCutFunction(plane)
    filled = vtkContourTriangulator()
    filled.SetInputConnection(cutter.GetOutputPort())
    filled.Update()
    return pv.wrap(filled.GetOutput())
