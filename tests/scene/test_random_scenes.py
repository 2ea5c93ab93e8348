"""Whatever is in the file, the answer is a scene or its faults."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from packcheck.errors import SceneError
from packcheck.scene import load_scene

GRAMMAR = """
packcheck title units axes list_within include params frames parts clearances note
kind in at turn anchor box cylinder sphere capsule cone tube pipe extrude mesh solids fixed
wrap tolerance fit bolted_to default use seat rules between gap must want moving lower why
faces front rear left right top bottom nose_up nose_down lean_left swing_right from to section
diameter length along outer inner outside through bend outline thickness file side scale
a b car * x y z mm in 3/8 fuel hot true origin min mid exact common
"""
WORDS = st.sampled_from(GRAMMAR.split())
SCALARS = st.one_of(
    WORDS,
    st.none(),
    st.booleans(),
    st.integers(-5, 500),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(
        ["a + 5 mm", "1 1/2 in", "2 * b", "5 lbs", "1e400", "b / b", "1,5", "60 aft", "a left", "9 mm up"]
    ),
    st.text(max_size=8),
)
VALUES = st.recursive(
    SCALARS,
    lambda below: st.one_of(st.lists(below, max_size=4), st.dictionaries(WORDS, below, max_size=5)),
    max_leaves=25,
)
NAMES = st.sampled_from(["a", "b", "car", "left rail", "engine"])
SCENES = st.fixed_dictionaries(
    {"packcheck": st.just(1)},
    optional={
        "units": st.sampled_from(["mm", "in", "m"]),
        "params": st.dictionaries(NAMES, SCALARS, max_size=3),
        "frames": st.dictionaries(NAMES, st.dictionaries(WORDS, VALUES, max_size=4), max_size=3),
        "parts": st.dictionaries(NAMES, st.dictionaries(WORDS, VALUES, max_size=5), max_size=3),
        "clearances": st.dictionaries(WORDS, VALUES, max_size=4),
        "axes": VALUES,
        "include": VALUES,
    },
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("random")


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(content=st.one_of(SCENES, st.dictionaries(WORDS, VALUES, max_size=6)))
def test_random_map_is_a_scene_or_faults_with_places(folder: Path, content: dict[str, object]) -> None:
    path = folder / "bay.yaml"
    path.write_text(json.dumps(content), encoding="utf-8")
    try:
        load_scene(path)
    except SceneError as error:
        assert error.faults
        assert all(fault.mark is not None and fault.what for fault in error.faults)


@settings(deadline=None, max_examples=200)
@given(content=st.binary(max_size=300))
def test_random_bytes_are_faults(folder: Path, content: bytes) -> None:
    path = folder / "bay.yaml"
    path.write_bytes(content)
    with pytest.raises(SceneError):
        load_scene(path)
