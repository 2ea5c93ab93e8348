"""What solid does the content of a mesh file make, and what was found in it? The work of a process of its own."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.scene.model.scene import Mesh
from packcheck.solids.core.coherent import coherent_order
from packcheck.solids.core.mend import Mend, merged
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.solids.core.topology import edges_of, pieces_of
from packcheck.solids.formats import RawMesh, RefusedError, parse
from packcheck.solids.formats.bodies import chosen
from packcheck.solids.meshes import packing as mesh_packing
from packcheck.solids.meshes.account import LoadedMesh, MeshAccount, asked_words, odd_size, sheet_words
from packcheck.solids.meshes.clean import Surface, understood
from packcheck.solids.meshes.convex import is_convex
from packcheck.solids.meshes.cut import cropped
from packcheck.solids.meshes.sheets import skin_of
from packcheck.tolerances import FARTHEST

__all__ = ["account_of", "made", "run", "surface_of"]

_AXES: Final = {"x": 0, "y": 1, "z": 2}

_VANISHED: Final = "the rest is whole, so a body is missing in it, and nobody would ever find it in the way"
_CHOOSE: Final = "export it again; or, when packcheck look lists all you need, name those bodies with body"

_EXACT: Final = 1e-9
"""mm. With a larger error the support points of the triangles are not those of the true solid."""


def run(question: tuple[Mesh, bytes]) -> dict[str, npt.NDArray[Any]]:
    """`made`, as plain arrays."""
    return mesh_packing.packed(made(*question))


def made(spec: Mesh, data: bytes) -> LoadedMesh:
    """The solid that the content of a file makes, as the scene wants it.

    Raises
    ------
    RefusedError
        When the content is broken, hostile, empty, or not what the name of the file says.
    """
    raw = parse(spec.file, data)
    surface = surface_of(spec, raw)
    if raw.lost and surface.is_closed and not spec.bodies:
        raise RefusedError(raw.lost, why=_VANISHED, mend=_CHOOSE)
    solid, doubt = _solid_of(surface, spec)
    account = account_of(spec, raw, surface)
    account = replace(account, unrepaired=account.unrepaired + doubt)
    if spec.simplify:
        from packcheck.solids.meshes.simplify import simplified

        solid, words = simplified(solid, spec.simplify)
        account = replace(account, repaired=(*account.repaired, words))
    return LoadedMesh(solid, account)


def surface_of(spec: Mesh, raw: RawMesh) -> Surface:
    """What of the file the scene takes, in the part's own frame, mended.

    Raises
    ------
    RefusedError
        When nothing is left, or it lies too far out.
    """
    raw = chosen(raw, spec.bodies)
    mend, left_out = cropped(_in_mm(spec, raw), spec.crop)
    surface = understood(mend, spec.least_piece)
    if surface is None:
        raise RefusedError("holds no face that has an area")
    error = surface.error + raw.error * _factor(spec, raw)
    return replace(surface, unrepaired=left_out + surface.unrepaired, error=error)


def account_of(spec: Mesh, raw: RawMesh, surface: Surface) -> MeshAccount:
    """What became of the file."""
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    x, y, z = (high - low).tolist()
    extents = (x, y, z)
    return MeshAccount(
        file=spec.file.name,
        format=raw.format,
        triangles=len(surface.faces),
        pieces=len(surface.closed),
        closed=surface.is_closed,
        extents=extents,
        repaired=asked_words(spec) + surface.repaired,
        unrepaired=_declared(spec, raw) + raw.remarks + _lost(raw) + surface.unrepaired,
        sheet=sheet_words(spec, closed=surface.is_closed),
        odd_size=odd_size(extents, spec),
        stretch=spec.tape.tolerance / spec.tape.by_tape if spec.tape else 0.0,
    )


def _lost(raw: RawMesh) -> tuple[str, ...]:
    return (raw.lost,) if raw.lost else ()


def _factor(spec: Mesh, raw: RawMesh) -> float:
    """mm per number of the file."""
    return (1.0 if raw.settled else spec.unit) * spec.scale


def _in_mm(spec: Mesh, raw: RawMesh) -> Mend:
    """Merged, turned, scaled to mm, and mirrored when the scene says so; faces keep their outside out."""
    mend = merged(raw.vertices, raw.faces, soup=raw.soup)
    vertices = mend.vertices[:, [_AXES[axis[-1]] for axis in spec.axes]] * _factor(spec, raw)
    for own, axis in enumerate(spec.axes):
        if (axis[0] == "-") != (spec.mirror is not None and _AXES[spec.mirror] == own):
            vertices[:, own] *= -1.0
    largest = float(np.abs(vertices).max(initial=0.0))
    if not largest <= FARTHEST:
        raise RefusedError(
            f"reaches {largest / 1e6:.3g} km from its origin, the most is {FARTHEST / 1e6:g} km",
            mend="check its unit, and move it near its origin before exporting it",
        )
    return replace(mend, vertices=vertices, faces=mend.faces[:, ::-1] if spec.mirror else mend.faces)


def _declared(spec: Mesh, raw: RawMesh) -> tuple[str, ...]:
    if raw.unit in ("", spec.unit_name) or raw.settled:
        return ()
    return (f"file says {raw.unit}, scene says {spec.unit_name}",)


def _solid_of(surface: Surface, spec: Mesh) -> tuple[Solid, tuple[str, ...]]:
    """The solid, and what must be said of its skin."""
    if not spec.thickness or not spec.side:
        solid = _solid(
            surface.vertices, surface.faces, surface.piece, closed=surface.is_closed, error=surface.error
        )
        return replace(solid, open_surface=not surface.is_closed), ()
    skin = skin_of(surface.vertices, surface.faces, spec.thickness, spec.side)
    piece = pieces_of(skin.faces, edges_of(skin.faces))[0]
    error = skin.error + surface.error
    solid = _solid(skin.vertices, skin.faces, piece, closed=not skin.reason, error=error)
    doubt = (
        f"no skin of even thickness ({skin.reason}): its thickness counts as anything up to {2 * skin.radius:g} mm"
    )
    return replace(solid, radius=skin.radius), (doubt,) if skin.reason else ()


def _solid(vertices: Points, faces: Faces, piece: Faces, *, closed: bool, error: float) -> Solid:
    first = np.unique(piece, return_index=True)[1]
    single = closed and len(first) == 1 and error <= _EXACT
    support = polyhedron_support(vertices) if single and is_convex(vertices, faces) else None
    pieces = frozen(vertices[faces[first, 0]])
    ordered = frozen_faces(faces[coherent_order(vertices, faces)])
    return Solid(frozen(vertices), ordered, error=error, closed=closed, support=support, pieces=pieces)
