"""The small commands: new, rules, explain, schema, completion."""

from __future__ import annotations

import inspect
import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from packcheck.cli.commands.new import SCHEMA_FILE
from packcheck.data import KINDS
from packcheck.report.manual import CHAPTERS, chapters
from packcheck.studies import ON_REQUEST, STUDIES
from tests.cli.running import run, two_boxes


def test_the_starter_scene_passes_check(tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    assert run("new", scene).exit_code == 0
    result = run("check", scene, "--strict")
    assert result.stdout.startswith("no shortfall found in 21 pairs, as described in this file\n")
    assert result.exit_code == 0


def test_the_starter_scene_keeps_to_the_schema_beside_it(tmp_path: Path) -> None:
    """Oracle: an independent JSON Schema validator."""
    run("new", tmp_path / "scene.yaml")
    scene = (tmp_path / "scene.yaml").read_text(encoding="utf-8")
    assert scene.startswith(f"# yaml-language-server: $schema={SCHEMA_FILE}\n")
    jsonschema.validate(yaml.safe_load(scene), json.loads((tmp_path / SCHEMA_FILE).read_text(encoding="utf-8")))


def test_every_line_of_the_starter_scene_is_explained(tmp_path: Path) -> None:
    run("new", tmp_path / "scene.yaml")
    lines = (tmp_path / "scene.yaml").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line.strip() and "#" not in line] == []


def test_a_starter_scene_writes_over_nothing(tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    scene.write_text("mine", encoding="utf-8")
    result = run("new", scene)
    assert result.exit_code == 2
    assert "exists already" in result.stderr
    assert scene.read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / SCHEMA_FILE).exists()


def test_a_second_starter_scene_keeps_the_schema_that_is_there(tmp_path: Path) -> None:
    (tmp_path / SCHEMA_FILE).write_text("mine", encoding="utf-8")
    result = run("new", tmp_path / "scene.yaml")
    assert result.exit_code == 0
    assert "was there already" in result.stdout
    assert (tmp_path / SCHEMA_FILE).read_text(encoding="utf-8") == "mine"


def test_rules_tell_the_limit_its_reason_and_its_place(tmp_path: Path) -> None:
    result = run("rules", two_boxes(tmp_path, 8))
    assert result.exit_code == 0
    assert "must 10 mm, want 20 mm, moving 10 mm: left_box - right_box (1 pair)" in result.stdout
    assert "  why     by hand" in result.stdout
    assert "boxes.yaml:9:" in result.stdout


def test_rules_as_json_have_a_row_for_each_pair(tmp_path: Path) -> None:
    read = json.loads(run("rules", two_boxes(tmp_path, 8), "--json").stdout)
    assert [row[:3] for row in read["rows"]] == [["left_box", "right_box", 10.0]]


def test_rules_go_to_a_file(tmp_path: Path) -> None:
    out = tmp_path / "rules.txt"
    assert run("rules", two_boxes(tmp_path, 8), "-o", out).stdout == ""
    assert out.read_text(encoding="utf-8").startswith("Which limit applies to which parts: 1 pair")


@pytest.mark.parametrize("study", sorted(STUDIES))
def test_a_study_is_explained_by_its_own_docstring(study: str) -> None:
    assert run("explain", study).stdout == f"{inspect.cleandoc(STUDIES[study].__doc__ or '')}\n"


def test_rules_are_explained() -> None:
    assert "the largest wins" in run("explain", "rules").stdout


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_is_explained(kind: str) -> None:
    assert f"  {kind} " in run("explain", "kinds").stdout


def test_without_a_topic_all_topics_are_listed() -> None:
    listed = [line.split()[0] for line in run("explain").stdout.splitlines()]
    studies = [*STUDIES, *ON_REQUEST, "readings", "place", "size", "rules", "kinds", "tables"]
    assert listed == [*CHAPTERS, *studies, "all"]
    assert len(set(listed)) == len(listed)


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_a_chapter_of_the_manual_is_shown_as_it_is_written(chapter: str) -> None:
    assert run("explain", chapter).stdout == chapters()[chapter]


def test_the_whole_manual_goes_to_one_page(tmp_path: Path) -> None:
    assert run("explain", "all", "-o", tmp_path / "manual.html").exit_code == 0
    page = (tmp_path / "manual.html").read_text(encoding="utf-8")
    assert [name for name in CHAPTERS if f'<section id="{name}">' not in page] == []


def test_a_file_is_for_the_whole_manual_alone(tmp_path: Path) -> None:
    result = run("explain", "placing", "-o", tmp_path / "placing.html")
    assert result.exit_code == 2
    assert "packcheck explain all -o manual.html" in result.stderr


def test_an_unknown_topic_lists_those_there_are() -> None:
    result = run("explain", "gasp")
    assert result.exit_code == 2
    assert "did you mean 'gaps'?" in result.stderr


def test_the_schema_is_a_schema(tmp_path: Path) -> None:
    """Oracle: an independent JSON Schema validator."""
    printed = run("schema").stdout
    jsonschema.Draft202012Validator.check_schema(json.loads(printed))
    run("schema", "-o", tmp_path / "schema.json")
    assert (tmp_path / "schema.json").read_text(encoding="utf-8") == printed


@pytest.mark.parametrize(
    ("shell", "words"), [("bash", "complete -o"), ("zsh", "#compdef packcheck"), ("fish", "complete --no-files")]
)
def test_each_shell_gets_its_script(shell: str, words: str) -> None:
    result = run("completion", shell)
    assert result.exit_code == 0
    assert words in result.stdout
    assert "_PACKCHECK_COMPLETE" in result.stdout
