"""README and manual cannot lie: scenes load, commands exist, and the outputs they show are the real ones."""

from __future__ import annotations

import doctest
import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import click
import pytest

import packcheck
from packcheck.cli.commands.explain import _topics
from packcheck.cli.main import COMMANDS, cli
from packcheck.report.manual import CHAPTERS, manual_page
from packcheck.report.text.caution import CAUTION
from packcheck.scene import scene_schema
from packcheck.scene.model.scene import Part
from tests.cli.running import run

ROOT = Path(__file__).parents[1]
MANUAL = ROOT / "packcheck" / "manual"
PAGES = [ROOT / "README.md", *(MANUAL / f"{name}.md" for name in CHAPTERS)]
README = PAGES[0].read_text(encoding="utf-8")
WRITTEN = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
SKIP = "..."

BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", WRITTEN, re.MULTILINE | re.DOTALL)
SCENES = [text for language, text in BLOCKS if language == "yaml"]
CODE = [text for _, text in BLOCKS] + re.findall(
    r"`([^`\n]+)`", re.sub(r"^```.*?^```$", "", WRITTEN, flags=re.M | re.S)
)


@dataclass(frozen=True)
class Shown:
    """A command of a page, and the output it shows."""

    command: str
    lines: tuple[str, ...]


def shown() -> Iterator[Shown]:
    for language, text in BLOCKS:
        if language == "console":
            for session in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
                command, *lines = session.splitlines()
                yield Shown(command, tuple(lines))


def commands_named() -> Iterator[list[str]]:
    """The words behind every `packcheck` in code, up to the end of its line."""
    for text in CODE:
        for rest in re.findall(r"^(?:\$ )?packcheck (?!:)(.+)$", text, re.MULTILINE):
            yield shlex.split(rest, comments=True)


def schema_keys() -> set[str]:
    schema = scene_schema()
    parts = [schema, *schema["$defs"].values()]
    return {key for part in parts for key in part.get("properties", {})}


def without_marks(part: Part) -> Part:
    return replace(part, mark=None, solids=tuple(replace(solid, mark=None) for solid in part.solids))


def runs_of(lines: tuple[str, ...]) -> list[list[str]]:
    """What stands between the lines that skip."""
    runs: list[list[str]] = [[]]
    for line in lines:
        if line == SKIP:
            runs.append([])
        else:
            runs[-1].append(line)
    return runs


def first_missing(lines: tuple[str, ...], output: list[str]) -> list[str] | None:
    """The first run of shown lines that the output does not hold where it should, or None."""
    at = 0
    runs = runs_of(lines)
    for k, wanted in enumerate(runs):
        places = range(at, len(output) - len(wanted) + 1)
        if k == 0:  # nothing was skipped before it
            places = places[:1]
        if k == len(runs) - 1:  # nothing was skipped behind it
            places = places[-1:]
        found = next((place for place in places if output[place : place + len(wanted)] == wanted), None)
        if found is None:
            return wanted
        at = found + len(wanted)
    return None


def whole(text: str) -> str:
    """A block as a scene that can be loaded from anywhere."""
    text = text if "packcheck: 1" in text else f"packcheck: 1\n{text}"
    text = text.replace("scenes/", f"{(ROOT / 'scenes').as_posix()}/")
    return text.replace("../meshes_demo", (ROOT / "meshes_demo").as_posix())


@pytest.mark.parametrize("text", SCENES, ids=range(len(SCENES)))
def test_every_scene_and_section_loads(text: str, tmp_path: Path) -> None:
    for other in SCENES:
        if name := re.match(r"# (\w+\.yaml)\n", other):
            (tmp_path / name[1]).write_text(whole(other), encoding="utf-8")
    scene = tmp_path / "scene.yaml"
    scene.write_text(whole(text), encoding="utf-8")
    assert packcheck.load(scene).assembly.parts


def test_the_first_scene_is_the_first_steps_shortened(tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    scene.write_text(SCENES[0], encoding="utf-8")
    here = packcheck.load(scene).assembly.scene
    there = packcheck.load(ROOT / "scenes" / "first_steps.yaml").assembly.scene
    assert (here.title, here.axes) == (there.title, there.axes)
    assert {name: without_marks(part) for name, part in here.parts.items()} == {
        name: without_marks(there.parts[name]) for name in here.parts
    }


@pytest.mark.parametrize(
    "example",
    [example for example in shown() if example.command.startswith("packcheck ") and example.lines],
    ids=lambda example: example.command,
)
def test_a_shown_output_is_the_real_one(example: Shown, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    output = run(*shlex.split(example.command)[1:]).output
    assert first_missing(example.lines, output.splitlines()) is None, output


def test_a_changed_a_moved_and_a_left_out_line_are_noticed() -> None:
    output = ["one", "two", "three", "four"]
    assert first_missing(("one", SKIP, "three", "four"), output) is None
    assert first_missing(("one", SKIP, "three", SKIP), output) is None
    assert first_missing(("two", SKIP), output) == ["two"]
    assert first_missing(("one", SKIP, "three"), output) == ["three"]
    assert first_missing(("one", "three", SKIP), output) == ["one", "three"]
    assert first_missing((SKIP, "four", SKIP, "one", SKIP), output) == ["one"]


@pytest.mark.parametrize("words", list(commands_named()), ids=" ".join)
def test_every_command_named_exists(words: list[str]) -> None:
    assert words[0] in COMMANDS
    command = cli.get_command(click.Context(cli), words[0])
    assert command is not None
    options = {option for parameter in command.params for option in parameter.opts} | {"--help"}
    assert {word for word in words if word.startswith("-")} <= options
    if words[0] == "explain":
        assert not words[1:] or words[1] in _topics()
    assert all((ROOT / word).is_file() for word in words if word.startswith("scenes/"))


def test_every_command_is_named() -> None:
    assert {words[0] for words in commands_named()} == set(COMMANDS)


@pytest.mark.parametrize("key", sorted(schema_keys()))
def test_every_key_of_the_grammar_is_shown(key: str) -> None:
    assert any(re.search(rf"(?<![\w-]){re.escape(key)}:", text) or text == key for text in CODE)


def test_the_python_session_is_a_real_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    (session,) = (text for language, text in BLOCKS if language == "pycon")
    test = doctest.DocTestParser().get_doctest(session, {}, "README.md", "README.md", 0)
    assert test.examples
    assert doctest.DocTestRunner().run(test).failed == 0


def test_the_caution_is_the_one_of_the_reports() -> None:
    assert CAUTION in " ".join(README.replace("\n> ", " ").split())


def links() -> Iterator[tuple[Path, str]]:
    for page in [*PAGES, ROOT / "DEVELOPERS.md"]:
        for target in re.findall(r"\]\(([^)]+)\)", page.read_text(encoding="utf-8")):
            yield page, target


@pytest.mark.parametrize(("page", "target"), list(links()), ids=lambda one: getattr(one, "name", one))
def test_every_link_leads_somewhere(page: Path, target: str) -> None:
    name, _, heading = target.partition("#")
    there = page.parent / name if name else page
    assert there.exists()
    if heading:
        headings = re.findall(r"^#+ (.+)$", there.read_text(encoding="utf-8"), re.MULTILINE)
        assert heading in {re.sub(r"[^\w\- ]", "", one).strip().lower().replace(" ", "-") for one in headings}


def test_every_chapter_has_its_place() -> None:
    assert {page.stem for page in MANUAL.glob("*.md")} == set(CHAPTERS)


@pytest.mark.parametrize(("page", "lines"), [("README.md", 200), ("DEVELOPERS.md", 250)])
def test_a_page_to_begin_with_stays_short(page: str, lines: int) -> None:
    assert len((ROOT / page).read_text(encoding="utf-8").splitlines()) <= lines


def test_every_link_of_the_whole_page_leads_to_a_place_on_it_and_nothing_is_fetched() -> None:
    page = manual_page()
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(re.findall(r'id="([^"]+)"', page))
    assert not re.search(r'(?:src|href)="(?!#|data:)', page)
    assert page.count(CAUTION) == 2


def options() -> set[str]:
    """Every option of every command, by its long name."""
    found: set[str] = set()
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)
        assert command is not None
        shown = (one for one in command.params if isinstance(one, click.Option) and not one.hidden)
        found |= {max(one.opts, key=len) for one in shown}
    return found


@pytest.mark.parametrize("option", sorted(options()))
def test_every_option_is_in_the_manual(option: str) -> None:
    assert re.search(rf"(?<![\w-]){re.escape(option)}(?![\w-])", WRITTEN)


def test_the_picture_is_light_enough_to_load_in_a_garage() -> None:
    assert (ROOT / "scenes" / "pictures" / "hillclimb_rear_bay.png").stat().st_size <= 400_000
