"""A mesh file of the scene as a solid, with an account of what was found in it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from packcheck.errors import Fault, MeshError
from packcheck.scene.model.scene import Mesh
from packcheck.solids.formats.aside import SECONDS, aside
from packcheck.solids.formats.gate import RefusedError, read_bytes
from packcheck.solids.meshes import cache as mesh_cache
from packcheck.solids.meshes import packing as mesh_packing
from packcheck.solids.meshes.account import LoadedMesh, MeshAccount

__all__ = ["LoadedMesh", "MeshAccount", "naming", "read_mesh"]

_READING: Final = "packcheck.solids.meshes.reading"

_SECONDS: Final = SECONDS
"""Longest that reading a file may take."""

_SIMPLIFYING: Final = 300.0
"""The same of one that is to be simplified."""


def read_mesh(spec: Mesh, *, use_cache: bool = True) -> LoadedMesh:
    """What solid does a mesh file hold?

    Parameters
    ----------
    spec : Mesh
        The file and what the scene says of it. Its unit is used, whatever the file says of its own.
    use_cache : bool
        Whether to look for the result of an earlier reading, and keep this one.

    Returns
    -------
    LoadedMesh
        Own frame, mm. Closed when every piece is; a sheet when the scene states thickness and side; otherwise an
        open surface.

    Raises
    ------
    MeshError
        One fault that names the file, without a mark: missing, broken, hostile, empty, not what its name says, or
        the end of the process that read it.
    """
    with naming(f'mesh file "{spec.file}"'):
        data = read_bytes(spec.file)
        key = mesh_cache.key_of(data, spec) if use_cache else ""
        kept = mesh_cache.load(key) if use_cache else None
        loaded = kept or _read_aside(spec, data)
    if use_cache and kept is None:
        mesh_cache.store(key, loaded)
    return replace(loaded, account=replace(loaded.account, file=spec.file.name))


@contextlib.contextmanager
def naming(what: str) -> Iterator[None]:
    """Whatever goes wrong with a file becomes one fault that begins with `what`."""
    try:
        yield
    except RefusedError as error:
        raise MeshError([Fault(None, f"{what} {error.what}", error.why, error.mend)]) from error
    except MemoryError as error:
        fault = Fault(None, f"{what} takes more memory than there is", mend="simplify the mesh")
        raise MeshError([fault]) from error


def _read_aside(spec: Mesh, data: bytes) -> LoadedMesh:
    seconds = _SIMPLIFYING if spec.simplify else _SECONDS
    try:
        return mesh_packing.unpacked(aside(_READING, (spec, data), seconds=seconds))
    except mesh_packing.BROKEN as error:
        raise RefusedError("cannot be worked out: what came back of it is no mesh") from error
