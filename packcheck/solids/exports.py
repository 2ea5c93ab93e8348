"""Surfaces as a geometry file: GLB, STL, PLY or OBJ.

GLB is in metres with y up and the car's front towards +z, as its standard has it; the others say nothing of units
or axes and are in mm, along the scene's own axes. Names of parts go into GLB (nodes) and OBJ (objects), colours
into GLB, PLY and OBJ; STL holds bare triangles. Each says that packcheck wrote it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np

from packcheck.arrays import Floats, Matrix3
from packcheck.surfaces import Colour, Surface

__all__ = ["FORMATS", "exported"]

METRE: Final = 1000.0  # mm
WRITER: Final = "packcheck"
STL_HEAD: Final = (
    80  # bytes of a binary STL before the count of its triangles; free text, that must not begin "solid"
)


def exported(shown: Sequence[tuple[Surface, Colour]], suffix: str, up_from_car: Matrix3) -> bytes:
    """Surfaces with their colours as the bytes of a file with this suffix, one of `FORMATS`.

    `up_from_car` (3, 3) turns the car's axes to x left, y up, z forward. Same surfaces, same bytes.
    """
    return FORMATS[suffix](shown, up_from_car)


def _glb(shown: Sequence[tuple[Surface, Colour]], up_from_car: Matrix3) -> bytes:
    import trimesh

    visual: Any = trimesh.visual
    scene: Any = trimesh.Scene()
    for surface, colour in shown:
        mesh = _mesh(surface, surface.vertices @ up_from_car.T / METRE)
        linear = np.append(_linear(colour), 1.0)
        material = visual.material.PBRMaterial(
            baseColorFactor=linear, metallicFactor=0.0, roughnessFactor=0.8, doubleSided=True
        )
        mesh.visual = visual.TextureVisuals(material=material)
        scene.add_geometry(mesh, node_name=surface.name, geom_name=surface.name)
    return bytes(scene.export(file_type="glb", tree_postprocessor=_named))


def _named(tree: dict[str, Any]) -> None:
    """Say in a GLB file who wrote it."""
    tree["asset"]["generator"] = WRITER


def _linear(colour: Colour) -> Floats:
    """sRGB 0 to 255 as the linear shares that GLB is written in (IEC 61966-2-1)."""
    shares = np.array(colour) / 255
    linear: Floats = np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)
    return linear


def _obj(shown: Sequence[tuple[Surface, Colour]], _: Matrix3) -> bytes:
    import trimesh

    scene: Any = trimesh.Scene()
    for surface, colour in shown:
        scene.add_geometry(_coloured(surface, colour), node_name=surface.name, geom_name=surface.name)
    return str(scene.export(file_type="obj", header=f"{WRITER}, mm")).encode()


def _ply(shown: Sequence[tuple[Surface, Colour]], _: Matrix3) -> bytes:
    written = bytes(_one(shown).export(file_type="ply"))
    head, end, rest = written.partition(b"end_header\n")
    lines = [line for line in head.splitlines(keepends=True) if not line.startswith(b"comment")]
    told = f"comment {WRITER}, mm\n".encode()
    return b"".join([*lines[:2], told, *lines[2:]]) + end + rest


def _stl(shown: Sequence[tuple[Surface, Colour]], _: Matrix3) -> bytes:
    written = bytes(_one(shown).export(file_type="stl"))
    return f"{WRITER}, mm".encode().ljust(STL_HEAD, b"\0") + written[STL_HEAD:]


def _one(shown: Sequence[tuple[Surface, Colour]]) -> Any:
    import trimesh

    return trimesh.util.concatenate([_coloured(surface, colour) for surface, colour in shown])


def _coloured(surface: Surface, colour: Colour) -> Any:
    mesh = _mesh(surface, surface.vertices)
    mesh.visual.vertex_colors = np.tile([*colour, 255], (len(surface.vertices), 1)).astype(np.uint8)
    return mesh


def _mesh(surface: Surface, vertices: Floats) -> Any:
    import trimesh

    return trimesh.Trimesh(vertices, surface.faces, process=False)


FORMATS: Final[dict[str, Callable[[Sequence[tuple[Surface, Colour]], Matrix3], bytes]]] = {
    ".glb": _glb,
    ".stl": _stl,
    ".ply": _ply,
    ".obj": _obj,
}
