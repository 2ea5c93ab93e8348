"""How well things are known: `known` gives a tolerance, a stated tolerance wins, and a scene may have its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.scene import load_scene

from .writing import part_of, scene_of, whats, write


@pytest.mark.parametrize(("known", "tolerance"), [("guess", 15), ("tape", 3), ("calliper", 0.5), ("drawing", 1)])
def test_what_is_known_has_the_usual_tolerance(tmp_path: Path, known: str, tolerance: float) -> None:
    """Oracle: the figures the README states, common practice."""
    part = part_of(tmp_path, f"box: [1, 1, 1], known: {known}")
    assert part.known == known
    assert part.tolerance == (tolerance,) * 3
    assert part.tolerance_is_ball


@pytest.mark.parametrize(("stated", "tolerance"), [("0", (0, 0, 0)), ("2 mm", (2, 2, 2)), ("[1, 2, 3]", (1, 2, 3))])
def test_a_stated_tolerance_wins(tmp_path: Path, stated: str, tolerance: tuple[float, ...]) -> None:
    part = part_of(tmp_path, f"box: [1, 1, 1], known: guess, tolerance: {stated}")
    assert (part.known, part.tolerance) == ("guess", tolerance)


def test_a_scene_may_state_its_own_figures_in_its_units(tmp_path: Path) -> None:
    """Oracle: closed form, 1/4 in = 6.35 mm."""
    text = """
        units: in
        known: {tape: 1/4 in, guess: 1}
        frames: {foot: {known: tape}}
        parts: {a: {box: [1, 1, 1], known: guess}, b: {box: [1, 1, 1], known: drawing}}
        """
    scene = scene_of(tmp_path, text)
    assert scene.frames["foot"].tolerance[0] == pytest.approx(6.35)
    assert scene.parts["a"].tolerance[0] == pytest.approx(25.4)
    assert scene.parts["b"].tolerance[0] == 1.0
    assert scene.known["calliper"] == 0.5


@pytest.mark.parametrize(("head", "tape"), [("known: tape", 3), ("known: {default: tape, tape: 2 mm}", 2)])
def test_a_scene_may_say_how_all_else_is_known(tmp_path: Path, head: str, tape: float) -> None:
    """Oracle: the figures the README states; what is stated of a thing itself wins, and a frame gets none."""
    text = f"""
        {head}
        frames: {{foot: {{at: [1, 2, 3]}}}}
        parts:
          plain: {{box: [1, 1, 1]}}
          copy: {{like: plain, at: [9, 9, 9]}}
          image: {{mirror_of: stated}}
          drawn: {{box: [1, 1, 1], known: drawing}}
          stated: {{box: [1, 1, 1], at: [0, 7 left, 0], tolerance: 4}}
          exact: {{box: [1, 1, 1], tolerance: 0}}
          rough: {{box: [1, 1, 1], fit: about}}
        """
    scene = scene_of(tmp_path, text)
    assert scene.frames["foot"].tolerance == (0, 0, 0)
    told = {name: (part.known, part.tolerance[0]) for name, part in scene.parts.items()}
    assert told == {
        "plain": ("tape", tape),
        "copy": ("tape", tape),
        "image": (None, 4),
        "drawn": ("drawing", 1),
        "stated": (None, 4),
        "exact": (None, 0),
        "rough": ("tape", 15),
    }


@pytest.mark.parametrize(
    ("head", "what"),
    [
        ("known: taped", "known is 'taped', needs guess, tape, calliper or drawing"),
        ("known: {default: eye}", "known.default is 'eye', needs guess, tape, calliper or drawing"),
        ("known: 3", "known is 3, needs a map with default, guess, tape, calliper, drawing, note"),
    ],
)
def test_a_way_of_knowing_for_all_else_is_one_of_the_words(tmp_path: Path, head: str, what: str) -> None:
    assert whats(tmp_path, f"{head}\nparts: {{a: {{box: [1, 1, 1]}}}}") == [what]


@pytest.mark.parametrize(("known", "tolerance"), [("tape", 15), ("guess", 20)])
def test_a_rough_envelope_is_off_by_its_own_figure_at_least(tmp_path: Path, known: str, tolerance: float) -> None:
    part = part_of(tmp_path, f"box: [1, 1, 1], fit: about, known: {known}", head="known: {guess: 20}\n")
    assert part.tolerance[0] == tolerance


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("known: caliper", "known is 'caliper', needs guess, tape, calliper or drawing"),
        ("known: 3", "known is 3, needs guess, tape, calliper or drawing"),
        ("known: null", "known is empty, needs a value"),
        ("stage: roler", "stage is 'roler', needs mockup, roller or final"),
    ],
)
def test_other_words_are_refused(tmp_path: Path, text: str, what: str) -> None:
    found = whats(tmp_path, f"parts: {{a: {{box: [1, 1, 1], {text}}}}}")
    assert len(found) == 1
    assert what in found[0]


def test_figures_and_stage_stand_in_the_root_file_only(tmp_path: Path) -> None:
    write(tmp_path, "packcheck: 1\nknown: {tape: 2}\nstage: final\n", "part.yaml")
    found = whats(tmp_path, "include: [part.yaml]\n")
    assert [what.split(" stands")[0] for what in found] == ["known", "stage"]


def test_stages_are_kept(tmp_path: Path) -> None:
    path = write(tmp_path, "packcheck: 1\nstage: roller\nparts: {a: {box: [1, 1, 1], stage: mockup}}\n")
    scene = load_scene(path)
    assert (scene.stage, scene.parts["a"].stage) == ("roller", "mockup")
