"""Which readings would settle most, against scenes written with the better tolerance in them."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Report, Table, Verdict
from packcheck.report.text.tables import table_lines
from packcheck.scene.model.scene import Box, Clearances, Frame, Part, Scene, SolidSpec


def cube(name: str, x: float, tolerance: float, parent: str = "car", y: float = 0.0) -> Part:
    solid = SolidSpec(Box((10.0, 10.0, 10.0)), ("mid", "mid", "mid"))
    return Part(name, (solid,), parent=parent, at=(x, y, 0.0), tolerance=(tolerance,) * 3)


def checked(scene: Scene) -> Report:
    return Bay(assemble(scene)).check(moves=False)


def bay(*parts: Part, frames: tuple[Frame, ...] = (), units: str = "mm") -> Scene:
    made = Scene(
        "bay.yaml",
        parts={part.name: part for part in parts},
        frames={frame.name: frame for frame in frames},
        clearances=Clearances(default=10.0, use="none"),
    )
    return replace(made, units="in" if units == "in" else "mm")


def table(report: Report) -> Table | None:
    return next((table for table in report.tables if table.id == "readings"), None)


def rows(scene: Scene) -> tuple[tuple[object, ...], ...]:
    found = table(checked(scene))
    assert found is not None
    return found.rows


def test_one_part_between_two_settles_both() -> None:
    """Oracle: closed form. Gaps 14 either side of `mid`, limit 10: open at 5 + 0.5, settled up to 3.5 + 0.5."""
    scene = bay(cube("a", -24, 0.5), cube("mid", 0, 5), cube("b", 24, 0.5))
    assert rows(scene) == (("mid", "3 mm", 2),)


def test_the_coarsest_tolerance_that_settles_is_asked_for_in_inches_too() -> None:
    """Oracle: closed form. 3.5 mm to spare: 1/8 in (3.175 mm) does, 1/4 in (6.35 mm) does not."""
    scene = bay(cube("a", -24, 0.5), cube("mid", 0, 5), units="in")
    assert rows(scene) == (("mid", "1/8 in", 1),)


def test_a_frame_is_one_reading_for_all_on_it() -> None:
    """Oracle: closed form. Both parts of the engine are open to their neighbour by the frame's 8 mm alone."""
    frame = Frame("engine", tolerance=(8.0, 8.0, 8.0))
    parts = [cube(f"e{k}", 0, 0, "engine", 100.0 * k) for k in range(2)]
    others = [cube(f"o{k}", 22, 0, y=100.0 * k) for k in range(2)]
    assert rows(bay(*parts, *others, frames=(frame,))) == (("engine", "2 mm", 2),)


def test_two_that_only_settle_together_are_asked_for_together() -> None:
    """Oracle: closed form. 2 mm to spare and 5 mm on either: one alone leaves 5.5, both at 1 mm leave 2."""
    assert rows(bay(cube("a", 0, 5), cube("b", 22, 5))) == (("a and b", "1 mm", 1),)


def test_what_no_reading_settles_is_said() -> None:
    """Oracle: closed form. A gap 0.3 mm over its limit is open even at 0.5 mm."""
    found = table(checked(bay(cube("a", 0, 5), cube("b", 20.3, 0))))
    assert found is not None
    assert found.rows == ()
    assert "No three readings would settle any of the 1 undecided" in found.note


def test_how_many_no_reading_settles_is_said_beside_those_that_one_does() -> None:
    """Oracle: closed form. Gaps 14 and 10.3 of 10: the first is settled at 3.5 mm, the other open even at 0.5."""
    close = [cube("c", 0, 5, y=500), cube("d", 20.3, 0, y=500)]
    found = table(checked(bay(cube("a", 0, 5), cube("b", 24, 0), *close)))
    assert found is not None
    assert (found.rows[0][0], found.rows[0][2]) == ("a", 1)
    assert "Of 2 undecided" in found.note and "No reading settles 1 of them" in found.note


@pytest.mark.parametrize("x, said", [(17.0, "7 mm apart"), (5.0, "sunk by 5 mm")])
def test_joined_parts_that_do_not_meet_are_to_be_measured_again(x: float, said: str) -> None:
    """Oracle: by hand: cubes of 10 mm, the second x along; a joint may sink by 1 mm or stand 0.5 off."""
    joined = replace(cube("b", x, 0), bolted_to=("a",))
    found = table(checked(bay(cube("a", 0, 0), joined)))
    assert found is not None
    assert (found.rows, found.note) == (
        (),
        f"Measure these again: a and b: joined, but {said} as measured.",
    )


def test_nothing_undecided_needs_no_readings() -> None:
    assert table(checked(bay(cube("a", 0, 1), cube("b", 50, 1)))) is None


@pytest.mark.parametrize("seed", range(12))
def test_what_is_promised_comes_true_when_the_scene_is_written_so(seed: int) -> None:
    """Oracle: the check itself, of scenes with the promised tolerances written into them; and no other single part
    would have settled more than the first row says for each of its parts."""
    rng = random.Random(seed)
    places = [(rng.uniform(0, 80), rng.uniform(0, 80)) for _ in range(7)]
    scene = bay(*(cube(f"p{k}", x, rng.choice([1, 3, 15]), y=y) for k, (x, y) in enumerate(places)))
    before = checked(scene).counts[Verdict.UNSURE]
    found = table(checked(scene))
    if found is None:
        assert before == 0
        return

    def open_with(tolerances: dict[str, float]) -> int:
        better = {name: replace(scene.parts[name], tolerance=(t,) * 3) for name, t in tolerances.items()}
        return checked(replace(scene, parts={**scene.parts, **better})).counts[Verdict.UNSURE]

    known: dict[str, float] = {}
    for names, tolerance, gain in found.rows:
        here = open_with(known)
        known |= dict.fromkeys(str(names).split(" and "), float(str(tolerance).removesuffix(" mm")))
        assert here - open_with(known) == gain
    assert len(known) <= 3
    singly = max(before - open_with({name: 0.5}) for name in scene.parts if scene.parts[name].tolerance[0] > 0.5)
    best = max((int(str(gain)) / len(str(names).split(" and ")) for names, _, gain in found.rows[:1]), default=0)
    assert best >= singly


def test_without_a_reading_to_list_no_line_stands_empty() -> None:
    joined = replace(cube("b", 17.0, 0), bolted_to=("a",))
    found = table(checked(bay(cube("a", 0, 0), joined)))
    assert found is not None
    assert [line.text for line in table_lines(found, 100)] == [found.title, found.note]
