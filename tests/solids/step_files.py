"""STEP files written by hand, of solids whose every corner is known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

__all__ = ["Brep", "Writer", "cylinder", "enclosed", "prism", "step_file"]

_LENGTHS: Final = {
    "mm": "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))",
    "cm": "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.CENTI.,.METRE.))",
    "m": "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.))",
}


@dataclass
class Brep:
    """One solid: corners (n, 3) and faces as rings of corners, wound outward; or a cylinder about z."""

    name: str
    corners: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))
    rings: Sequence[Sequence[int]] = ()
    radius: float = 0.0
    length: float = 0.0


def prism(
    name: str, outline: Sequence[tuple[float, float]], height: float, at: Sequence[float] = (0, 0, 0)
) -> Brep:
    """An outline (counted against the clock, in x and y) given height along z."""
    count = len(outline)
    corners = np.array([(x, y, z) for z in (0.0, height) for x, y in outline]) + at
    sides = [(k, (k + 1) % count, count + (k + 1) % count, count + k) for k in range(count)]
    return Brep(name, corners, [tuple(range(count))[::-1], tuple(range(count, 2 * count)), *sides])


def cylinder(name: str, radius: float, length: float) -> Brep:
    """About z, from 0 to `length`."""
    return Brep(name, radius=radius, length=length)


class Writer:
    """The lines of a file, numbered from 1; each method adds some and gives the number of the last."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, text: str) -> str:
        self.lines.append(text)
        return f"#{len(self.lines)}"

    def point(self, p: Iterable[float]) -> str:
        return self.add(f"CARTESIAN_POINT('',({','.join(f'{float(x):.9f}' for x in p)}))")

    def direction(self, d: Iterable[float]) -> str:
        return self.add(f"DIRECTION('',({','.join(f'{float(x):.12f}' for x in d)}))")

    def axes(self, at: Iterable[float], z: Iterable[float], x: Iterable[float]) -> str:
        return self.add(f"AXIS2_PLACEMENT_3D('',{self.point(at)},{self.direction(z)},{self.direction(x)})")

    def face(self, edges: Sequence[str], surface: str) -> str:
        loop = self.add(f"EDGE_LOOP('',({','.join(edges)}))")
        bound = self.add(f"FACE_OUTER_BOUND('',{loop},.T.)")
        return self.add(f"ADVANCED_FACE('',({bound}),{surface},.T.)")

    def turned(self, edge: str, way: str) -> str:
        return self.add(f"ORIENTED_EDGE('',*,*,{edge},.{way}.)")

    def line(self, a: np.ndarray, b: np.ndarray) -> str:
        along = (b - a) / np.linalg.norm(b - a)
        return self.add(f"LINE('',{self.point(a)},{self.add(f'VECTOR({chr(39) * 2},{self.direction(along)},1.)')})")

    def ring(self, end: str, at: Sequence[float], z: Sequence[float], radius: float) -> str:
        """A whole circle as an edge that begins and ends at the vertex `end`, out along x."""
        curve = self.add(f"CIRCLE('',{self.axes(at, z, (1, 0, 0))},{radius:.9f})")
        return self.add(f"EDGE_CURVE('',{end},{end},{curve},.T.)")

    def polyhedron(self, brep: Brep) -> list[str]:
        corners = np.asarray(brep.corners, dtype=float)
        ends = [self.add(f"VERTEX_POINT('',{self.point(p)})") for p in corners]
        edges: dict[tuple[int, int], str] = {}

        def edge(i: int, j: int) -> str:
            low, high = min(i, j), max(i, j)
            if (low, high) not in edges:
                curve = self.line(corners[low], corners[high])
                edges[low, high] = self.add(f"EDGE_CURVE('',{ends[low]},{ends[high]},{curve},.T.)")
            return self.turned(edges[low, high], "T" if i < j else "F")

        faces = []
        for ring in brep.rings:
            points = corners[list(ring)]
            normal = np.cross(points - points[0], np.roll(points, -1, 0) - points[0]).sum(axis=0)
            first = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
            plane = self.add(f"PLANE('',{self.axes(points[0], normal / np.linalg.norm(normal), first)})")
            faces.append(self.face([edge(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)], plane))
        return faces

    def round(self, brep: Brep) -> list[str]:
        r, h = brep.radius, brep.length
        low, high = np.array([r, 0, 0.0]), np.array([r, 0, h])
        ends = [self.add(f"VERTEX_POINT('',{self.point(p)})") for p in (low, high)]
        bottom, top = (self.ring(end, (0, 0, z), (0, 0, 1), r) for end, z in zip(ends, (0.0, h), strict=True))
        seam = self.add(f"EDGE_CURVE('',{ends[0]},{ends[1]},{self.line(low, high)},.T.)")
        wall = self.add(f"CYLINDRICAL_SURFACE('',{self.axes((0, 0, 0), (0, 0, 1), (1, 0, 0))},{r:.9f})")
        floor = self.add(f"PLANE('',{self.axes((0, 0, 0), (0, 0, -1), (1, 0, 0))})")
        lid = self.add(f"PLANE('',{self.axes((0, 0, h), (0, 0, 1), (1, 0, 0))})")
        round_way = [
            self.turned(bottom, "T"),
            self.turned(seam, "T"),
            self.turned(top, "F"),
            self.turned(seam, "F"),
        ]
        return [
            self.face(round_way, wall),
            self.face([self.turned(bottom, "F")], floor),
            self.face([self.turned(top, "T")], lid),
        ]

    def unit(self, unit: str) -> str:
        if unit != "in":
            return self.add(_LENGTHS[unit])
        millimetre = self.add(_LENGTHS["mm"])
        powers = self.add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)")
        inch = self.add(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{millimetre})")
        return self.add(f"(CONVERSION_BASED_UNIT('INCH',{inch})LENGTH_UNIT()NAMED_UNIT({powers}))")

    def context(self, unit: str) -> str:
        length = self.unit(unit)
        angle = self.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
        solid_angle = self.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
        doubt = self.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),{length},'accuracy','')")
        return self.add(
            f"(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({doubt}))"
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid_angle}))REPRESENTATION_CONTEXT('','3D'))"
        )

    def application(self) -> str:
        made = self.add("APPLICATION_CONTEXT('automotive design')")
        self.add(f"APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{made})")
        return made

    def product(self, name: str, solids: Sequence[str], context: str, application: str) -> tuple[str, str]:
        """A part of these solids, or an assembly of none: its definition and its shape."""
        origin = self.axes((0, 0, 0), (0, 0, 1), (1, 0, 0))
        kind = "ADVANCED_BREP_SHAPE_REPRESENTATION" if solids else "SHAPE_REPRESENTATION"
        shape = self.add(f"{kind}('',({','.join([origin, *solids])}),{context})")
        maker = self.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
        product = self.add(f"PRODUCT('{name}','{name}','',({maker}))")
        version = self.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
        stage = self.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
        definition = self.add(f"PRODUCT_DEFINITION('design','',{version},{stage})")
        whole = self.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
        self.add(f"SHAPE_DEFINITION_REPRESENTATION({whole},{shape})")
        return definition, shape


def step_file(solids: Sequence[Brep], unit: str = "mm", *, one_product: bool = False) -> bytes:
    """A STEP file (AP214) of `solids`, their numbers in `unit`, each a product of its own unless `one_product`."""
    writer = Writer()
    context = writer.context(unit)
    application = writer.application()
    made = []
    for brep in solids:
        faces = writer.round(brep) if brep.radius else writer.polyhedron(brep)
        shell = writer.add(f"CLOSED_SHELL('',({','.join(faces)}))")
        made.append((brep.name, writer.add(f"MANIFOLD_SOLID_BREP('{brep.name}',{shell})")))
    if one_product:
        writer.product("all", [solid for _, solid in made], context, application)
    else:
        for name, solid in made:
            writer.product(name, [solid], context, application)
    return enclosed(writer)


def enclosed(writer: Writer) -> bytes:
    """The whole file around the lines of its data."""
    head = (
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\n"
    )
    lines = "".join(f"#{number}={text};\n" for number, text in enumerate(writer.lines, 1))
    return f"{head}{lines}ENDSEC;\nEND-ISO-10303-21;\n".encode()
