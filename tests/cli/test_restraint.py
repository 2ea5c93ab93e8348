"""Belts, seats, cages and their mounts: no command moves, places or sizes one, or says that it could be moved."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.cli.main import COMMANDS
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.watching import Watcher
from tests.cli.running import run

SCENE = """packcheck: 1
params: {foot: 60 mm, pipe_height: 38 mm}
frames: {floor: {at: [0, 0, 0]}}
parts:
  belt_anchor: {kind: RESTRAINT, in: floor, at: [0, 0, 0], box: [foot, 60, 60], fit: exact, mass: 1}
  brake_pipe: {kind: brake, fixed: true, pipe: {outside: 5, through: [[-500, 0, 38], [500, 0, 38]]}}
  gusset: {kind: structure, at: [0, 50, 0], box: [30, 40, 6], bolted_to: [belt_anchor]}
  clip: {kind: brake, fixed: true, at: [0, 60, 12], box: [10, 10, 10]}
  doubler: {kind: structure, at: [0, -200, 0], box: [80, 80, 6]}
  cage_foot: {kind: RESTRAINT, in: doubler, at: [0, 0, 30], box: [40, 40, 50]}
  cooler: {kind: oil, fixed: true, at: [0, -200, -8], box: [80, 80, 6]}
  relay: {kind: electrical, at: [0, 0, pipe_height + 30 mm], box: [20, 20, 20]}
motions:
  anchor_slides: {carries: floor, travel: {by: x, from: 0, to: 20}, during: service}
layouts:
  other: {parts: {relay: {at: [0, 0, 80]}}}
"""
HELD = ("belt_anchor", "gusset", "doubler", "cage_foot")
"""Two restraints, what is bolted to one of them, and what carries the other."""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE.replace("RESTRAINT", "restraint"), encoding="utf-8")
    return path


def arguments(scene: Path) -> dict[str, list[list[str]]]:
    """Every command with what it has to say of a scene with restraints; None where it reads no scene or runs on."""
    place, box = str(scene), "-5, -5, -5 to 5, 5, 5"
    out = [str(scene.with_name(name)) for name in ("page.html", "bay.glb", "swept.glb", "view.png")]
    return {
        "check": [[place], [place, "--json"], [place, "--csv"], [place, "--joints", "all"]],
        "list": [[place]],
        "rules": [[place]],
        "report": [[place, "-o", out[0]]],
        "export": [[place, "-o", out[1]]],
        "sweep": [[place, "anchor_slides", "-o", out[2]]],
        "compare": [[place, "other"]],
        "leeway": [[place, name] for name in (*HELD, "relay")],
        "place": [[place, name, "--within", box, "--cell", "5 mm"] for name in (*HELD, "relay")],
        "size": [[place, "foot"], [place, "pipe_height"], [place, "pipe_height", "foot"]],
        "weigh": [[place]],
        "survey": [[place]],
        "view": [[place, "--screenshot", out[3]]],
        "new": [],
        "blank": [],
        "look": [],
        "watch": [],
        "explain": [],
        "schema": [],
        "completion": [],
    }


def told(scene: Path, command: str) -> str:
    """All that a command says and writes about the scene."""
    said = []
    for args in arguments(scene)[command]:
        result = run(command, *args)
        refused = command in ("leeway", "place", "size") and args[1:2] != ["relay"] and args[1] != "pipe_height"
        assert (result.exit_code == 2) == refused, result.output
        said += [result.output, result.stderr]
    written = [path for path in scene.parent.iterdir() if path != scene and path.suffix in (".html", ".yaml")]
    said += [path.read_text(encoding="utf-8") for path in written]
    return " ".join(" ".join(said).split())


def test_the_walk_takes_every_command() -> None:
    assert set(arguments(Path("scene.yaml"))) == set(COMMANDS)


@pytest.mark.parametrize("command", [command for command, ways in arguments(Path("s.yaml")).items() if ways])
def test_no_command_tells_to_move_a_restraint(scene: Path, command: str) -> None:
    """Oracle: by construction: two restraints fall short of something that is fixed, so that without their kind
    each would be told to move; one is carried, one is bolted to what falls short as well."""
    said = told(scene, command)
    for name in HELD:
        assert not re.search(rf"(?<!no )[Mm]ove {name}\b", said)
    assert scene.read_text(encoding="utf-8") == SCENE.replace("RESTRAINT", "restraint")


def test_without_the_kind_each_of_them_would_be_told_to_move(scene: Path) -> None:
    """The same scene, called structure and without the telling names: the walk above can fail."""
    text = SCENE.replace("RESTRAINT", "structure").replace("belt_anchor", "lug").replace("cage_foot", "post")
    scene.write_text(text, encoding="utf-8")
    said = told(scene, "check")
    assert re.search(r"move lug\b", said)
    assert re.search(r"move doubler\b", said)


@pytest.mark.parametrize("name", HELD)
@pytest.mark.parametrize("command", ["leeway", "place"])
def test_what_would_move_a_restraint_is_refused(scene: Path, command: str, name: str) -> None:
    args = [str(scene), name, *(["--within", "-5, -5, -5 to 5, 5, 5"] if command == "place" else [])]
    result = run(command, *args)
    assert result.exit_code == 2
    assert "restraint" in result.stderr
    assert "licensed or qualified person" in result.stderr


def test_a_param_that_sizes_a_restraint_is_refused_and_another_is_not(scene: Path) -> None:
    refused = run("size", scene, "foot")
    assert refused.exit_code == 2
    assert "param 'foot' changes belt_anchor, which is a restraint" in refused.stderr
    assert run("size", scene, "pipe_height").exit_code == 0


def test_a_param_that_moves_the_frame_of_a_restraint_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nparams: {h: 10 mm}\nframes: {floor: {at: [0, 0, h]}}\n"
        "parts:\n  hoop: {kind: restraint, in: floor, box: [10, 10, 10]}\n"
        "  fan: {box: [10, 10, 10], at: [0, 90, 0]}\n",
        encoding="utf-8",
    )
    assert "param 'h' changes hoop" in run("size", path, "h").stderr


@pytest.mark.parametrize(("name", "kind", "note", "held"), [
    ("belt_anchor", "structure", "", True),
    ("lug", "structure", "shoulder belt mount", True),
    ("roll_hoop", "structure", "", True),
    ("seat_rail_left", "structure", "", True),
    ("lug", "restraint", "", True),
    ("fan_belt", "rotating", "drive belt of the fan", False),
    ("valve_seat", "engine", "", False),
    ("harness_clip", "loom", "wiring harness", False),
])  # fmt: skip
def test_a_mount_is_known_by_its_kind_or_by_what_it_is_called(
    tmp_path: Path, name: str, kind: str, note: str, held: bool
) -> None:
    """Oracle: by head: what is a mount of a belt, seat or cage in the words of the trade, and what is not."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nparts:\n"
        f"  {name}: {{kind: {kind}, note: '{note}', box: [60, 60, 60]}}\n"
        "  pipe_a: {kind: brake, fixed: true, pipe: {outside: 5, through: [[-500, 0, 34], [500, 0, 34]]}}\n",
        encoding="utf-8",
    )
    (found,) = packcheck.load(path).check().findings
    assert (found.move is None) is held
    assert ("licensed or qualified person" in found.note) is held


def test_every_form_of_the_report_defers_to_a_qualified_person(scene: Path) -> None:
    for finding in json.loads(run("check", scene, "--json").stdout)["findings"]:
        if {"belt_anchor", "cage_foot"} & set(finding["subjects"]):
            assert "have it judged by a licensed or qualified person" in finding["note"]
    for command, args in {"check": ["--csv"], "report": ["-o", str(scene.with_name("p.html"))]}.items():
        said = run(command, scene, *args).output
        said += scene.with_name("p.html").read_text(encoding="utf-8") if command == "report" else ""
        assert "belt_anchor is a restraint: have it judged" in " ".join(said.split())


def test_the_window_neither_moves_nor_writes_one(scene: Path) -> None:
    from packcheck.viewer.desk import Desk
    from packcheck.viewer.nudging import Nudge, planned_nudge

    desk = Desk(scene)
    desk.select("gusset")
    desk.shift("up", 5.0)
    assert desk.nudge is not None and desk.nudge.still
    assert any("belt_anchor, which is a restraint" in line for line in desk.said)
    nudge = Nudge("belt_anchor").shifted(np.array([1.0, 0, 0]))
    with pytest.raises(SceneError, match="is a restraint"):
        planned_nudge(packcheck.load(scene).assembly, nudge)


@pytest.mark.parametrize("follows", [
    "seat_r: {kind: restraint, box: [40, 40, 40], faces: {bottom: {above: floor_r}, front: 0}}",
    "floor_l: {mirror_of: floor_r}\n  seat_l: {kind: restraint, in: floor_l, box: [40, 40, 40], at: [0, 0, 90]}",
    "seat_r: {kind: restraint, box: [40, 40, 40], at: [500, 0, 90]}\n"
    "  seat_l: {mirror_of: {part: seat_r, across: pad}}\nframes: {pad: {in: floor_r, at: [0, -200, 0]}}",
])  # fmt: skip
def test_what_rests_on_a_part_and_its_mirror_image_go_where_it_goes(tmp_path: Path, follows: str) -> None:
    path = tmp_path / "scene.yaml"
    path.write_text(
        f"packcheck: 1\nparts:\n  floor_r: {{box: [90, 90, 4], at: [0, 300, 0]}}\n  {follows}\n".replace(
            "front: 0", "front: 0, left: 290"
        ),
        encoding="utf-8",
    )
    result = run("leeway", path, "floor_r")
    assert result.exit_code == 2
    assert "is a restraint, and goes where floor_r goes" in result.stderr


def test_a_watch_tells_no_move_of_one(scene: Path) -> None:
    """Oracle: every shortfall, one by one, as a watch tells it."""
    watcher = Watcher(scene)
    report = watcher.look().report
    assert report is not None
    moves = [watcher.move(finding).move for finding in report.findings if finding.verdict is Verdict.FAIL]
    assert moves
    assert all(move is None or move.part not in HELD for move in moves)
