"""STEP files written by hand, of round and of bent solids whose every face is known in closed form, and assemblies.

ball      one spherical face, and a point for an edge
cone      a wall, a floor, a lid
ring      one toroidal face, cut open along both its circles
pillow    a box whose lid is a spline surface, z = h + a (x/w)^2 + b (y/w)^2 for x and y from 0 to w
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from packcheck.frames import turn_matrix
from tests.solids.step_files import Brep, Writer, enclosed

__all__ = ["Assembled", "Placing", "assembly_file", "ball", "cone", "of_solid", "pillow", "pillow_height", "ring"]

Solid: TypeAlias = Callable[[Writer], str]
"""Writes one solid; gives the number of its line."""

_Z, _X = (0, 0, 1), (1, 0, 0)


def _solid(writer: Writer, name: str, faces: Sequence[str]) -> str:
    shell = writer.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    return writer.add(f"MANIFOLD_SOLID_BREP('{name}',{shell})")


def ball(name: str, radius: float) -> Solid:
    """About the zero."""

    def write(writer: Writer) -> str:
        pole = writer.add(f"VERTEX_POINT('',{writer.point((0, 0, -radius))})")
        bound = writer.add(f"FACE_BOUND('',{writer.add(f'VERTEX_LOOP({chr(39) * 2},{pole})')},.T.)")
        surface = writer.add(f"SPHERICAL_SURFACE('',{writer.axes((0, 0, 0), _Z, _X)},{radius:.9f})")
        return _solid(writer, name, [writer.add(f"ADVANCED_FACE('',({bound}),{surface},.T.)")])

    return write


def cone(name: str, bottom: float, top: float, length: float) -> Solid:
    """About z, from 0 to `length`; radii."""

    def write(writer: Writer) -> str:
        spots = ((bottom, 0.0), (top, length))
        ends = [writer.add(f"VERTEX_POINT('',{writer.point((r, 0, z))})") for r, z in spots]
        low, high = (writer.ring(end, (0, 0, z), _Z, r) for end, (r, z) in zip(ends, spots, strict=True))
        line = writer.line(np.array([bottom, 0, 0.0]), np.array([top, 0, length]))
        seam = writer.add(f"EDGE_CURVE('',{ends[0]},{ends[1]},{line},.T.)")
        half = np.arctan2(bottom - top, length)  # narrowing upward: the axis of the surface points down
        place = writer.axes((0, 0, 0), (0, 0, -1), _X)
        surface = writer.add(f"CONICAL_SURFACE('',{place},{bottom:.9f},{half:.15f})")
        floor = writer.add(f"PLANE('',{writer.axes((0, 0, 0), (0, 0, -1), _X)})")
        lid = writer.add(f"PLANE('',{writer.axes((0, 0, length), _Z, _X)})")
        ways = ((low, "T"), (seam, "T"), (high, "F"), (seam, "F"))
        wall = [writer.turned(edge, way) for edge, way in ways]
        faces = [writer.face(wall, surface)]
        faces += [writer.face([writer.turned(low, "F")], floor), writer.face([writer.turned(high, "T")], lid)]
        return _solid(writer, name, faces)

    return write


def ring(name: str, middle: float, thickness: float) -> Solid:
    """A torus about z: radii of its middle line and of its round section."""

    def write(writer: Writer) -> str:
        start = writer.add(f"VERTEX_POINT('',{writer.point((middle + thickness, 0, 0))})")
        around = writer.ring(start, (0, 0, 0), _Z, middle + thickness)
        across = writer.ring(start, (middle, 0, 0), (0, -1, 0), thickness)
        surface = writer.add(f"TOROIDAL_SURFACE('',{writer.axes((0, 0, 0), _Z, _X)},{middle:.9f},{thickness:.9f})")
        loop = [writer.turned(edge, way) for way in "TF" for edge in (around, across)]
        return _solid(writer, name, [writer.face(loop, surface)])

    return write


def pillow_height(at: np.ndarray, width: float, height: float, bend: tuple[float, float]) -> np.ndarray:
    """z of the lid at points (n, 2)."""
    made: np.ndarray = height + bend[0] * (at[:, 0] / width) ** 2 + bend[1] * (at[:, 1] / width) ** 2
    return made


def pillow(name: str, width: float, height: float, bend: tuple[float, float]) -> Solid:
    """`width` along x and y, from z = 0 to the spline surface."""

    def write(writer: Writer) -> str:
        lid = _Lid(writer, width, height, bend)
        corner = np.array([[0, 0], [width, 0], [width, width], [0, width]], dtype=float)
        feet = np.column_stack([corner, np.zeros(4)])
        tops = np.column_stack([corner, pillow_height(corner, width, height, bend)])
        below = [writer.add(f"VERTEX_POINT('',{writer.point(p)})") for p in feet]
        above = [writer.add(f"VERTEX_POINT('',{writer.point(p)})") for p in tops]

        def straight(a: np.ndarray, b: np.ndarray, ends: tuple[str, str]) -> str:
            return writer.add(f"EDGE_CURVE('',{ends[0]},{ends[1]},{writer.line(a, b)},.T.)")

        floor = [straight(feet[k], feet[(k + 1) % 4], (below[k], below[(k + 1) % 4])) for k in range(4)]
        posts = [straight(feet[k], tops[k], (below[k], above[k])) for k in range(4)]
        rims = [lid.edge(k, (above[k], above[(k + 1) % 4])) for k in range(4)]
        faces = [writer.face([writer.turned(edge, "T") for edge in rims], lid.surface())]
        plane = writer.add(f"PLANE('',{writer.axes((0, 0, 0), (0, 0, -1), _X)})")
        faces.append(writer.face([writer.turned(edge, "F") for edge in floor[::-1]], plane))
        for k in range(4):
            along = (feet[(k + 1) % 4] - feet[k]) / width
            plane = writer.add(f"PLANE('',{writer.axes(feet[k], np.cross(along, _Z), along)})")
            ways = ((floor[k], "T"), (posts[(k + 1) % 4], "T"), (rims[k], "F"), (posts[k], "F"))
            faces.append(writer.face([writer.turned(edge, way) for edge, way in ways], plane))
        return _solid(writer, name, faces)

    return write


class _Lid:
    """The spline surface of a pillow and its four edges, of degree 2: a square has the poles 0, 0, 1."""

    def __init__(self, writer: Writer, width: float, height: float, bend: tuple[float, float]) -> None:
        self.writer = writer
        ways, squares = np.array([0.0, 0.5, 1.0]) * width, np.array([0.0, 0.0, 1.0])
        x, y = np.meshgrid(ways, ways, indexing="ij")
        z = height + bend[0] * squares[:, None] + bend[1] * squares[None, :]
        self.poles = np.stack([x, y, z], axis=2)

    def surface(self) -> str:
        rows = ",".join(f"({','.join(self.writer.point(p) for p in row)})" for row in self.poles)
        return self.writer.add(
            f"B_SPLINE_SURFACE_WITH_KNOTS('',2,2,({rows}),.UNSPECIFIED.,.F.,.F.,.F.,(3,3),(3,3),(0.,1.),(0.,1.),"
            ".UNSPECIFIED.)"
        )

    def edge(self, side: int, ends: tuple[str, str]) -> str:
        """From corner `side` to the next, against the clock."""
        row = (self.poles[:, 0], self.poles[2], self.poles[::-1, 2], self.poles[0, ::-1])[side]
        points = ",".join(self.writer.point(p) for p in row)
        curve = self.writer.add(
            f"B_SPLINE_CURVE_WITH_KNOTS('',2,({points}),.UNSPECIFIED.,.F.,.F.,(3,3),(0.,1.),.UNSPECIFIED.)"
        )
        return self.writer.add(f"EDGE_CURVE('',{ends[0]},{ends[1]},{curve},.T.)")


def of_solid(solid: Solid, unit: str = "mm") -> bytes:
    """A STEP file of one solid, its numbers in `unit`."""
    writer = Writer()
    context, application = writer.context(unit), writer.application()
    writer.product("part", [solid(writer)], context, application)
    return enclosed(writer)


@dataclass
class Placing:
    """Something of an assembly at a place, turned about x, y, z by degrees, in the unit of what holds it."""

    what: Assembled
    at: Sequence[float]
    turn: tuple[float, float, float] = (0.0, 0.0, 0.0)
    name: str = ""


@dataclass
class Assembled:
    """A part (its solids) or an assembly (its placings), in its own unit."""

    name: str
    unit: str
    solids: Sequence[Brep] = ()
    placed: Sequence[Placing] = ()


def assembly_file(root: Assembled) -> bytes:
    """A STEP file of an assembly: every part is written once, however often it is placed."""
    writer = Writer()
    application = writer.application()
    written: dict[int, tuple[str, str]] = {}

    def write(one: Assembled) -> tuple[str, str]:
        if id(one) not in written:
            context = writer.context(one.unit)
            solids = [_solid(writer, brep.name, writer.polyhedron(brep)) for brep in one.solids]
            written[id(one)] = writer.product(one.name, solids, context, application)
            for number, placing in enumerate(one.placed, 1):
                _place(writer, written[id(one)], write(placing.what), placing, number)
        return written[id(one)]

    write(root)
    return enclosed(writer)


def _place(writer: Writer, holder: tuple[str, str], held: tuple[str, str], placing: Placing, number: int) -> None:
    turn = turn_matrix(placing.turn)
    zero = writer.axes((0, 0, 0), _Z, _X)
    there = writer.axes(placing.at, turn[:, 2], turn[:, 0])
    use = writer.add(f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{number}','{placing.name}','',{holder[0]},{held[0]},$)")
    shape = writer.add(f"PRODUCT_DEFINITION_SHAPE('','',{use})")
    move = writer.add(f"ITEM_DEFINED_TRANSFORMATION('','',{zero},{there})")
    relation = writer.add(
        f"(REPRESENTATION_RELATIONSHIP('','',{held[1]},{holder[1]})"
        f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({move})SHAPE_REPRESENTATION_RELATIONSHIP())"
    )
    writer.add(f"CONTEXT_DEPENDENT_SHAPE_REPRESENTATION({relation},{shape})")
