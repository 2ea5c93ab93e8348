"""`packcheck check`. Oracle of the exit codes: their table in the help; of the gaps: boxes placed by hand."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from packcheck.report.text.caution import CAUTION
from tests.cli.running import own_process, run, two_boxes


@pytest.mark.parametrize(
    ("gap", "fit", "options", "code"),
    [
        pytest.param(30, "exact", [], 0, id="pass"),
        pytest.param(15, "exact", [], 0, id="close"),
        pytest.param(15, "exact", ["--strict"], 1, id="close, strict"),
        pytest.param(30, "exact", ["--strict"], 0, id="pass, strict"),
        pytest.param(8, "exact", [], 1, id="tight"),
        pytest.param(-6, "exact", [], 1, id="clash"),
        pytest.param(8, "encloses", [], 3, id="unsure"),
        pytest.param(8, "encloses", ["--strict"], 3, id="unsure, strict"),
    ],
)
@pytest.mark.parametrize("form", [[], ["--json"], ["--csv"], ["--quiet"]])
def test_the_exit_code_follows_the_verdict_in_every_form(
    gap: float, fit: str, options: list[str], code: int, form: list[str], tmp_path: Path
) -> None:
    assert run("check", two_boxes(tmp_path, gap, fit=fit), *options, *form).exit_code == code


def test_a_scene_of_one_part_is_not_a_pass(tmp_path: Path) -> None:
    scene = tmp_path / "lonely.yaml"
    scene.write_text("packcheck: 1\nparts:\n  box_a: {box: [1, 1, 1]}\n", encoding="utf-8")
    result = run("check", scene)
    assert result.exit_code == 3
    assert result.stdout.startswith("nothing was checked in 0 pairs, which is not a pass")


def test_the_text_names_the_clash_and_closes_with_the_caution(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, -6))
    assert "clash: left_box - right_box: overlap 6.0 mm, needs 10 mm" in result.stdout
    assert " ".join(result.stdout.split()).endswith(CAUTION)
    assert result.stderr == ""


def test_a_piped_report_has_no_terminal_codes(tmp_path: Path) -> None:
    ran = own_process("check", two_boxes(tmp_path, -6), FORCE_COLOR="1", TERM="xterm-256color")
    assert ran.returncode == 1
    assert "\x1b" not in ran.stdout


def test_the_same_scene_gives_the_same_bytes(tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 8)
    first, second = (own_process("check", scene, "--json").stdout for _ in range(2))
    assert first == second


def test_json_is_json_and_nothing_else(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 8), "--json")
    read = json.loads(result.stdout)
    assert (read["verdict"], read["findings"][0]["value"]) == ("fail", 8.0)
    assert result.stderr == ""


def test_csv_has_a_line_for_each_finding_and_the_caution_beside(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 8), "--csv")
    rows = [row for row in csv.DictReader(io.StringIO(result.stdout)) if row["verdict"]]
    assert [(row["part_a"], row["part_b"], row["word"]) for row in rows] == [("left_box", "right_box", "tight")]
    assert result.stderr.strip() == CAUTION


def test_quiet_prints_the_verdict_line_only(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 30), "--quiet")
    assert result.stdout == "no shortfall found in 1 pair, as described in this file\n"


def test_without_moves_none_is_offered(tmp_path: Path) -> None:
    read = json.loads(run("check", two_boxes(tmp_path, 8), "--json", "--no-moves").stdout)
    assert read["findings"][0]["move"] is None


def test_a_part_may_be_singled_out(tmp_path: Path) -> None:
    scene = tmp_path / "three.yaml"
    boxes = "".join(
        f"  box_{name}: {{box: [1, 1, 1], at: [0, {y}, 0]}}\n" for name, y in (("a", 0), ("b", 3), ("c", 6))
    )
    scene.write_text(f"packcheck: 1\nparts:\n{boxes}", encoding="utf-8")
    read = json.loads(run("check", scene, "--json", "--part", "box_a").stdout)
    assert read["pairs"]["total"] == 2
    assert all("box_a" in found["subjects"] for found in read["findings"])


def test_an_unknown_part_gets_a_hint(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 8), "--part", "left_bix")
    assert result.exit_code == 2
    assert "did you mean 'left_box'?" in result.stderr


def test_a_missing_scene_is_a_fault_not_a_trace(tmp_path: Path) -> None:
    result = run("check", tmp_path / "ghost.yaml")
    assert result.exit_code == 2
    assert "ghost.yaml" in result.stderr
    assert result.stderr.splitlines()[-1] == "1 fault"


@pytest.mark.parametrize(("form", "start"), [("--json", "{"), ("--csv", "study,"), (None, "1 shortfall")])
def test_a_report_goes_to_a_file_and_its_verdict_to_the_screen(
    form: str | None, start: str, tmp_path: Path
) -> None:
    out = tmp_path / "report.txt"
    result = run("check", two_boxes(tmp_path, 8), "-o", out, *filter(None, [form]))
    assert result.exit_code == 1
    assert result.stdout == "1 shortfall found in 1 pair: 1 tight\n"
    assert out.read_text(encoding="utf-8").startswith(start)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["boxes.yaml", "report.txt"]


def test_a_scene_with_faults_leaves_the_old_report_alone(tmp_path: Path) -> None:
    scene, out = two_boxes(tmp_path, 8), tmp_path / "report.txt"
    out.write_text("old", encoding="utf-8")
    scene.write_text("packcheck: 1\npartz: {}\n", encoding="utf-8")
    assert run("check", scene, "-o", out).exit_code == 2
    assert out.read_text(encoding="utf-8") == "old"


def test_the_scene_is_never_written_over(tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 8)
    before = scene.read_bytes()
    result = run("check", scene, "-o", scene)
    assert result.exit_code == 2
    assert "is left as it is" in result.stderr
    assert scene.read_bytes() == before


def test_a_file_in_no_folder_is_refused_before_any_work(tmp_path: Path) -> None:
    result = run("check", tmp_path / "ghost.yaml", "-o", tmp_path / "nowhere" / "report.txt")
    assert result.exit_code == 2
    assert "there is no folder" in result.stderr
    assert "ghost" not in result.stderr


def test_quiet_and_a_whole_report_on_one_screen_contradict(tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 8), "--quiet", "--json")
    assert result.exit_code == 2
    assert "choose one" in result.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no broken pipes to break")
def test_a_reader_who_leaves_is_no_error(tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 8)
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "packcheck", "check", str(scene)]
    ran = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, text=True, timeout=60, check=False)
    os.close(writing)
    assert (ran.returncode, ran.stderr) == (1, "")


def test_a_console_of_another_code_page_shows_names_it_lacks_as_escapes(tmp_path: Path) -> None:
    scene = tmp_path / "kühler.yaml"
    scene.write_text(two_boxes(tmp_path, 8).read_text(encoding="utf-8"), encoding="utf-8")
    ran = own_process("check", scene.name, cwd=tmp_path, PYTHONIOENCODING="ascii")
    assert ran.returncode == 1
    assert r"k\xfchler.yaml" in ran.stdout


def test_a_stage_leaves_out_what_is_gone_by_then(tmp_path: Path) -> None:
    scene = tmp_path / "bay.yaml"
    parts = ["a: {box: [9, 9, 9]}", "b: {box: [9, 9, 9], stage: mockup}", "c: {at: [99, 0, 0], box: [9, 9, 9]}"]
    scene.write_text("\n  ".join(["packcheck: 1\nparts:", *parts]), encoding="utf-8")
    assert run("check", scene).exit_code == run("check", scene, "--stage", "mockup").exit_code == 1
    result = run("check", scene, "--stage", "final")
    assert result.exit_code == 0
    assert "Note: left out at the stage final: b\n" in result.stdout
    assert run("check", scene, "--stage", "finished").exit_code == 2


VALID = Path(__file__).parents[1] / "scene" / "valid"


def passed(report: dict[str, Any]) -> set[tuple[object, ...]]:
    good = [one for one in report["findings"] if one["verdict"] in ("pass", "close")]
    whole = {("the whole",)} if report["verdict"] in ("pass", "close") else set()
    return whole | {(one["study"], *one["subjects"], str(one["mark"])) for one in good}


def at_rest(report: dict[str, Any]) -> list[tuple[object, ...]]:
    found = [one for one in report["findings"] if one["study"] != "moving"]
    return [(one["study"], one["subjects"], one["verdict"], one["low"], one["high"]) for one in found]


def test_what_the_budget_of_motions_does_not_reach_is_told_as_not_checked(tmp_path: Path) -> None:
    """Oracle: counting. A lid swings past two balls that a box of its way reaches; one question is one gap."""
    scene = tmp_path / "scene.yaml"
    balls = "".join(
        f"  ball_{k}: {{sphere: {{diameter: 20}}, at: [200, {y}, 250]}}\n" for k, y in enumerate((-90, 90))
    )
    scene.write_text(
        "packcheck: 1\nparts:\n  lid: {box: [400, 300, 4], at: [200, 0, 0]}\n" + balls + "motions:\n"
        "  lid_opens: {carries: lid, hinge: {through: [0, 0, 0], axis: y, from: 0, to: -45}}\n",
        encoding="utf-8",
    )
    assert run("check", scene).exit_code == 0
    result = run("check", scene, "--budget", "1")
    assert result.exit_code == 3
    assert "not checked within 1 question" in result.stdout
    assert result.stdout == run("check", scene, "--budget", "1").stdout


@pytest.mark.parametrize("scene", ["copies.yaml", "inches.yaml", "motions.yaml"])
def test_a_budget_passes_nothing_more_and_gives_the_same_bytes(scene: str) -> None:
    """Oracle: the same check without moves: what was measured, and the same command again."""
    plain = json.loads(run("check", VALID / scene, "--no-moves", "--json").stdout)
    for budget in ("1", "40", "300"):
        first, again = (run("check", VALID / scene, "--budget", budget, "--json").stdout for _ in range(2))
        assert first == again
        found = json.loads(first)
        assert passed(found) <= passed(plain)
        assert at_rest(found) == at_rest(plain)
    assert "within 1 question" in run("check", VALID / scene, "--budget", "1").stdout


@pytest.mark.parametrize("budget", ["0", "soon", "-1", "1e9s"])
def test_what_is_no_budget_is_refused(budget: str, tmp_path: Path) -> None:
    result = run("check", two_boxes(tmp_path, 5), "--budget", budget)
    assert result.exit_code == 2
    assert "no budget" in result.stderr
