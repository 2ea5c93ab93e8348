"""Broken, hostile and odd files through the whole command: each comes to what it must, none takes the tool down.

The corpus is made here and in `malformed_meshes`: what must be refused, and what is read with a word about it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import numpy as np
import pytest

from tests.cli.running import run
from tests.solids.malformed_meshes import MALFORMED
from tests.solids.mesh_bytes import Body, as_obj, as_stl, ball, box, grid, joined, turned
from tests.solids.step_files import cylinder, prism, step_file

_STEP: Final = step_file([prism("bracket", [(0, 0), (60, 0), (60, 8), (8, 8), (8, 40), (0, 40)], 30)])

STEP: Final[dict[str, tuple[bytes, str]]] = {
    "step cut short": (_STEP[:-200], "is cut short"),
    "step without solids": (_STEP.replace(b"MANIFOLD_SOLID_BREP", b"MANIFOLD_SOLID_BREAD"), "holds no"),
    "step of noise": (b"ISO-10303-21;\n" + bytes(range(32, 127)) * 50 + b"\nEND-ISO-10303-21;\n", "holds no"),
    "step of endless numbers": (_STEP.replace(b"60.000000000", b"1E400"), "beyond all measure"),
    "step that looks elsewhere": (
        _STEP.replace(b"ENDSEC;\nEND-", b"#9999=DOCUMENT_FILE('/etc/hostname');\nENDSEC;\nEND-"),
        "refers to other files",
    ),
}


def _with_flat_faces() -> Body:
    vertices, faces = box((40, 50, 60))
    return vertices, np.concatenate([faces, [[0, 0, 1], [2, 2, 2], [0, 1, 1]]])


def _ring_strip() -> Body:
    """A strip with one side only (Moebius)."""
    angles = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    rows = []
    for width in (-8, 8):
        reach = 50 + width * np.cos(angles / 2)
        rows.append(np.stack([reach * np.cos(angles), reach * np.sin(angles), width * np.sin(angles / 2)], axis=1))
    faces = []
    for k in range(39):
        faces += [(k, k + 1, 40 + k), (k + 1, 41 + k, 40 + k)]
    faces += [(39, 40, 79), (40, 0, 79)]
    return np.concatenate(rows), np.array(faces)


ODD: Final[dict[str, tuple[Callable[[], Body], int, str]]] = {
    "inside out": (lambda: turned(box((40, 50, 60))), 0, "turned the whole surface outward"),
    "one face turned": (
        lambda: (box((40, 50, 60))[0], np.concatenate([box()[1][:1, ::-1], box()[1][1:]])),
        0,
        "turned 1 face to agree with the rest",
    ),
    "faces without area": (_with_flat_faces, 0, "dropped 3 faces without area"),
    "body that stands twice": (lambda: joined(box((40, 50, 60)), box((40, 50, 60))), 0, "12 faces stand twice"),
    "body in a body": (
        lambda: joined(box((40, 50, 60)), box((9, 9, 9))),
        0,
        "lies inside another and wound as solid",
    ),
    "cavity": (lambda: joined(box((40, 50, 60)), turned(box((9, 9, 9)))), 0, "| solid |"),
    "bodies that overlap": (lambda: joined(box((40, 50, 60)), box((40, 50, 60), (9, 9, 9))), 0, "| solid |"),
    "one face missing": (lambda: (box((40, 50, 60))[0], box()[1][1:]), 3, "open border: 3 edges in 1 loop"),
    "sheet": (lambda: grid(lambda x, y: np.stack([x, y, 0 * x], 1)), 3, "open border: 80 edges in 1 loop"),
    "sheet drawn from both sides": (
        lambda: joined(
            grid(lambda x, y: np.stack([x, y, 0 * x], 1), 3, 3),
            turned(grid(lambda x, y: np.stack([x, y, 0 * x], 1), 3, 3)),
        ),
        3,
        "lying back to back on others",
    ),
    "strip with one side": (_ring_strip, 3, "open border"),
    "vertex nobody uses": (
        lambda: (np.concatenate([box((40, 50, 60))[0], [[1e6, 0, 0]]]), box()[1]),
        0,
        "40 x 50 x 60",
    ),
    "a thousand crumbs": (
        lambda: joined(
            *(box((5, 5, 5), (20 * (k % 10), 20 * (k // 10 % 10), 20 * (k // 100))) for k in range(1000))
        ),
        0,
        "1000",
    ),
    "smaller than a hair": (lambda: box((0.02, 0.02, 0.02)), 3, "odd size"),
    "larger than a hall": (lambda: box((40_000, 100, 100)), 3, "odd size"),
    "far from its zero": (lambda: box((40, 50, 60), (1e6, 0, 0)), 0, "40 x 50 x 60"),
    "needle": (lambda: box((400, 0.01, 0.01)), 0, "| solid |"),
    "ball of slivers": (lambda: ball(50, 4, 400), 0, "| solid |"),
}
"""What it is made of, the exit code of the check, and what the report or the look must say."""


def checked(folder: Path, name: str, data: bytes) -> tuple[int, str, str]:
    """Exit code, output and errors of checking a scene of this file and a far box."""
    (folder / name).write_bytes(data)
    (folder / "bay.yaml").write_text(
        f"packcheck: 1\nparts:\n  odd_part: {{mesh: {{file: {name}, units: mm}}}}\n"
        "  far_box: {box: [10, 10, 10], at: [0, 0, 100000]}\n",
        encoding="utf-8",
    )
    began = time.process_time()
    result = run("check", folder / "bay.yaml", "--no-cache", "--no-moves")
    assert time.process_time() - began < 30
    assert "Traceback" not in result.output
    assert "internal error" not in result.stderr
    return result.exit_code, result.stdout, result.stderr


@pytest.mark.parametrize("case", MALFORMED)
def test_a_malformed_file_ends_the_check_with_its_name_and_reason(case: str, tmp_path: Path) -> None:
    """Oracle: the list itself; each file was broken in one known way."""
    name, data, words = MALFORMED[case]
    code, _, told = checked(tmp_path, name, data)
    assert code == 2
    assert name in told
    assert words.split("'")[0].strip() in told
    look = run("look", tmp_path / name)
    assert look.exit_code == 2
    assert name in look.stderr


@pytest.mark.skipif(find_spec("cascadio") is None, reason="the extra for STEP is not installed")
@pytest.mark.parametrize("case", STEP)
def test_a_malformed_step_file_ends_the_check_with_its_name_and_reason(case: str, tmp_path: Path) -> None:
    """Oracle: the list itself; each file was broken in one known way."""
    data, words = STEP[case]
    code, _, told = checked(tmp_path, "a.step", data)
    assert code == 2
    assert "a.step" in told
    assert any(word in told for word in words.split("|"))


@pytest.mark.parametrize("case", ODD)
def test_an_odd_file_is_read_and_told(case: str, tmp_path: Path) -> None:
    """Oracle: by construction: what is odd about each is known, and its part is never left out."""
    made, expected, words = ODD[case]
    code, report, told = checked(tmp_path, "a.obj", as_obj(made()))
    assert code == expected, told
    assert "odd_part" in report
    wanted = words.replace("| solid |", "solid")
    assert wanted in " ".join((report + run("look", tmp_path / "a.obj").output).split())


def test_the_corpus_is_of_a_hundred_files_and_more() -> None:
    assert len(MALFORMED) + len(STEP) + len(ODD) >= 100


def test_a_round_step_part_among_them_is_sound(tmp_path: Path) -> None:
    """So that the refusals above are not the refusal of everything."""
    if find_spec("cascadio") is None:
        pytest.skip("the extra for STEP is not installed")
    code, report, _ = checked(tmp_path, "a.step", step_file([cylinder("pin", 20, 50)]))
    assert code == 0
    assert "odd_part" in report
    assert as_stl(box())
