"""A second library for the gap of two closed meshes: manifold3d.

It turns a mesh it dislikes into an empty solid without an exception, and answers with the search length when it
finds nothing nearer; both are made errors or None here.
"""

from __future__ import annotations

import manifold3d
import numpy as np

from tests.oracles.triangles import Soup

__all__ = ["mesh_gap", "overlap_volume"]


def mesh_gap(a: Soup, b: Soup, search: float) -> float | None:
    """Gap of two closed meshes, mm, 0 when they touch or overlap; None when it is not below `search`."""
    found = float(_solid(a).min_gap(_solid(b), search))
    return found if found < search * (1 - 1e-9) else None


def overlap_volume(a: Soup, b: Soup) -> float:
    """Volume that two closed meshes share, mm3."""
    return float((_solid(a) ^ _solid(b)).volume())


def _solid(soup: Soup) -> manifold3d.Manifold:
    """Double precision throughout: the library's default would round to float32."""
    mesh = manifold3d.Mesh64(np.ascontiguousarray(soup.vertices), soup.faces.astype(np.uint64))
    solid = manifold3d.Manifold(mesh)
    if solid.status() != manifold3d.Error.NoError or solid.is_empty():
        raise ValueError(f"not a closed mesh: {solid.status()}")
    return solid
