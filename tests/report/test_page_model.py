"""What the page's script is handed: meshes packed as its reader expects, and light enough."""

from __future__ import annotations

import gzip
import json
from base64 import b64decode

import numpy as np
import pytest
import trimesh

from packcheck.arrays import frozen, frozen_faces
from packcheck.findings import Finding
from packcheck.report.page_model import MOST_LOOKED_AT, model_data, packed, thinned
from packcheck.report.pictures.eye import Onlooker
from packcheck.surfaces import Model, Surface


def globe(name: str, radius: float, subdivisions: int = 2, at: float = 0.0) -> Surface:
    ball = trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius)
    return Surface(
        name, ("engine",), frozen(np.asarray(ball.vertices) + np.array([at, 0, 0])), frozen_faces(ball.faces)
    )


def test_packed_meshes_read_back_where_they_were() -> None:
    """Oracle: the layout as its reader states it: all uint16 corners, filled up to four bytes, all uint32 faces."""
    surfaces = [globe("a", 100.0, 2), globe("b", 3.0, 1, at=500.0)]
    data = gzip.decompress(b64decode(packed(surfaces)))
    corners = sum(len(s.vertices) for s in surfaces) * 6
    corner, face = 0, corners + corners % 4
    for surface in surfaces:
        low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
        shares = np.frombuffer(data, "<u2", 3 * len(surface.vertices), corner).reshape(-1, 3)
        faces = np.frombuffer(data, "<u4", 3 * len(surface.faces), face).reshape(-1, 3)
        assert low + (high - low) * shares / 65535 == pytest.approx(surface.vertices, abs=200 / 65535)
        assert (faces == surface.faces).all()
        corner, face = corner + 6 * len(surface.vertices), face + 12 * len(surface.faces)
    assert face == len(data)


def test_large_meshes_are_thinned_and_small_ones_left() -> None:
    """Oracle: closed form. The thinned ball of 100 mm still reaches 100 mm, within a cell."""
    large, small = globe("large", 100.0, 6), globe("small", 10.0, 1)
    kept, coarser = thinned([large, small], 8000)
    assert coarser
    assert len(kept[0].faces) <= 8000
    assert len(kept[1].faces) == len(small.faces)
    radii = np.linalg.norm(kept[0].vertices, axis=1)
    assert radii == pytest.approx(np.full(len(radii), 100.0), abs=1e-6)
    assert np.ptp(kept[0].vertices, axis=0) == pytest.approx([200, 200, 200], abs=12)


def test_nothing_is_thinned_without_need() -> None:
    surface = globe("ball", 10.0)
    assert thinned([surface]) == ([surface], False)
    assert thinned([]) == ([], False)


def test_the_data_can_stand_in_a_page_whatever_the_parts_are_called() -> None:
    name = "</script><script>alert(1)</script>&"
    surface = globe(name, 10.0)
    finding = Finding(
        "gaps", (name, "other"), "clash", value=-1.0, points=frozen([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    )
    model = Model((surface,))
    text = model_data([finding], model, Onlooker(model), "mm")
    assert "<" not in text
    assert json.loads(text)["parts"][0]["name"] == name
    assert json.loads(text)["findings"][0]["size"] == "1.0 mm deep"


def test_only_as_many_findings_are_looked_at_as_anybody_steps_through() -> None:
    model = Model((globe("a", 10.0),))
    finding = Finding("gaps", ("a", "b"), "clash", points=frozen([[20.0, 0.0, 0.0], [21.0, 0.0, 0.0]]))
    text = model_data([finding] * (MOST_LOOKED_AT + 5), model, Onlooker(model), "mm")
    assert len(json.loads(text)["findings"]) == MOST_LOOKED_AT
