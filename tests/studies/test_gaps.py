"""The gaps study: what is listed, under which word, and that nothing is left out silently."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.errors import Fault, QueryError
from packcheck.findings import Report, Verdict
from packcheck.proximity import Session
from packcheck.report.as_json import as_dict
from packcheck.report.text.as_text import as_text
from packcheck.report.text.headline import headline
from packcheck.scene.model.scene import Box, Clearances, Cylinder, Frame, Need, Rule, Sphere
from tests.bays import bay, part, random_crowd, ruled, scene

CUBE = Box((10, 10, 10))


def two_cubes(gap: float, clearances: Clearances | None = None, **facts: object) -> Report:
    made = [part("a", CUBE), part("b", CUBE, at=(10 + gap, 0, 0), **facts)]
    return bay(*made, **({"clearances": clearances} if clearances else {})).check(moves=False)


@pytest.mark.parametrize("gap, word, verdict", [
    (-3.0, "clash", Verdict.FAIL),
    (0.0, "touching", Verdict.FAIL),
    (0.005, "touching", Verdict.FAIL),
    (4.0, "tight", Verdict.FAIL),
    (10.0, "clear", Verdict.PASS),
])  # fmt: skip
def test_words_of_a_plain_pair_against_10(gap: float, word: str, verdict: Verdict) -> None:
    """Oracle: by head; cubes of 10 along one axis."""
    (finding,) = two_cubes(gap).findings
    assert (finding.word, finding.verdict) == (word, verdict)
    assert finding.value == pytest.approx(gap, abs=1e-9)


def test_between_must_and_want_is_close() -> None:
    rules = ruled(Rule(("a", "b"), must=10, want=20, why="heat"), default=1)
    (finding,) = two_cubes(15, rules).findings
    assert (finding.word, finding.verdict) == ("close", Verdict.CLOSE)


@pytest.mark.parametrize("gap, word, verdict", [
    (-0.9, "touching", Verdict.PASS),
    (0.4, "touching", Verdict.PASS),
    (-1.4, "clash", Verdict.FAIL),
    (9.0, "not seated", Verdict.FAIL),
    (90.0, "not seated", Verdict.FAIL),
])  # fmt: skip
def test_words_of_a_joint(gap: float, word: str, verdict: Verdict) -> None:
    """Oracle: by head: a seat of 1 mm overlap, and half a mm of air, is a joint."""
    report = two_cubes(gap, bolted_to=("a",))
    if verdict is Verdict.PASS:
        assert report.verdict is Verdict.PASS and not report.findings
    else:
        (finding,) = report.findings
        assert (finding.word, finding.verdict) == (word, verdict)


@pytest.mark.parametrize("gap", [-7.0, 0.0, 0.4])
def test_of_what_goes_into_another_nothing_is_asked_and_the_report_says_so(gap: float) -> None:
    """Oracle: by hand: two cubes make one pair, and it is in no count; nothing checked is no pass."""
    report = two_cubes(gap, goes_into=("a",))
    assert report.unmeasured == ("b goes into a: not measured, as the file says",)
    assert (report.findings, report.pairs.total, report.verdict) == ((), 0, Verdict.NOT_CHECKED)
    assert headline(report).endswith("; 1 pair not measured on purpose")
    assert "b goes into a: not measured, as the file says\n" in as_text(report)
    assert as_dict(report, version="0")["unmeasured"] == list(report.unmeasured)


@pytest.mark.parametrize("facts, short, said", [
    ({}, True, False),
    ({"parent": "battery"}, True, False),
    ({"bolted_to": ("battery",)}, False, True),
    ({"goes_into": ("battery",)}, False, True),
])  # fmt: skip
def test_what_is_joined_to_a_part_may_stand_in_its_air(facts: dict[str, object], short: bool, said: bool) -> None:
    """Oracle: by hand: a strap of 4 lies on a battery of 100 that needs 80 mm of air above it."""
    battery = part("battery", Box((100, 100, 100)), needs=(Need("top", 2, 1, 80.0),))
    report = bay(battery, part("strap", Box((20, 104, 4)), at=(0, 0, 52), **facts)).check(moves=False)
    air = "air needed above battery"
    assert any({air, "strap"} == set(finding.subjects) for finding in report.findings) is short
    told = f"strap may stand in the {air}: not measured, as it is joined to battery"
    assert (told in report.unmeasured) is said


def test_the_tolerances_of_joined_parts_widen_what_counts_as_touching() -> None:
    assert two_cubes(2.4, bolted_to=("a",), tolerance=(2.0,) * 3).verdict is Verdict.PASS
    assert two_cubes(2.6, bolted_to=("a",), tolerance=(2.0,) * 3).verdict is Verdict.FAIL


@pytest.mark.parametrize("fit", ["encloses", "about"])
def test_an_overlapping_envelope_may_clash(fit: str) -> None:
    (finding,) = two_cubes(-2, fit=fit).findings
    assert (finding.word, finding.verdict, finding.high) == ("may clash", Verdict.UNSURE, None)


def test_a_joint_sunk_into_an_envelope_may_clash() -> None:
    """The true part may be smaller: 9 deep in its envelope is no proof. Without one it is a clash."""
    (finding,) = two_cubes(-9, fit="encloses", bolted_to=("a",)).findings
    assert (finding.word, finding.verdict, finding.high) == ("may clash", Verdict.UNSURE, None)
    assert two_cubes(-9, bolted_to=("a",)).verdict is Verdict.FAIL


def test_a_joint_that_touches_an_envelope_as_drawn_is_a_joint() -> None:
    assert two_cubes(0, fit="encloses", bolted_to=("a",)).verdict is Verdict.PASS
    assert two_cubes(0.6, fit="encloses", bolted_to=("a",)).verdict is Verdict.FAIL


def test_an_envelope_that_clears_is_counted_apart() -> None:
    report = two_cubes(10, fit="encloses")
    assert report.verdict is Verdict.PASS
    assert report.envelope_passes == 1


def test_a_pair_that_cannot_be_measured_is_not_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is skipped silently."""

    def refuse(*_: object) -> None:
        raise QueryError([Fault(None, "the distance engine answered nan")])

    monkeypatch.setattr(Session, "gap_within", refuse)
    (finding,) = two_cubes(5).findings
    assert finding.verdict is Verdict.NOT_CHECKED
    assert "nan" in finding.skipped


def test_counts_add_up_to_all_pairs() -> None:
    report = Bay(assemble(random_crowd(5))).check(moves=False)
    pairs = report.pairs
    assert pairs.total == 14 * 13 // 2 == pairs.culled + pairs.measured
    assert sum(report.counts.values()) == pairs.total


def test_culling_loses_no_shortfall() -> None:
    """Oracle: brute force: every pair measured, whatever its boxes."""
    assembly = assemble(random_crowd(11, count=20, side=600))
    report = Bay(assembly).check(moves=False)
    listed = {f.subjects for f in report.findings if f.verdict in (Verdict.FAIL, Verdict.UNSURE)}
    names = list(assembly.parts)
    session = Session()
    short = {
        (a, b)
        for i, a in enumerate(names)
        for b in names[i + 1 :]
        if session.gap(assembly.parts[a], assembly.parts[b]).value < 10 - 0.006
    }
    assert listed == short


def test_only_the_pairs_of_the_parts_asked_for() -> None:
    made = bay(part("a", CUBE), part("b", CUBE), part("c", CUBE))
    report = made.check(["a"], moves=False)
    assert {f.subjects for f in report.findings} == {("a", "b"), ("a", "c")}
    assert report.pairs.total == 2


def test_an_unknown_part_is_named_with_its_nearest() -> None:
    from packcheck.errors import SceneError

    with pytest.raises(SceneError, match=r"no part 'punp'[\s\S]*did you mean 'pump'"):
        bay(part("pump", CUBE)).check(["punp"])


def test_findings_stand_in_order_of_verdict_and_margin() -> None:
    report = Bay(assemble(random_crowd(2))).check(moves=False)
    keys = [finding.sort_key for finding in report.findings]
    assert keys == sorted(keys)


def test_the_same_scene_gives_the_same_findings() -> None:
    def told() -> Sequence[object]:
        report = Bay(assemble(random_crowd(4))).check()
        return [(f.subjects, f.word, f.value, f.move and f.move.text, f.no_move) for f in report.findings]

    assert told() == told()


def test_the_place_is_told_from_the_nearest_datum() -> None:
    frames = {"bulkhead": Frame("bulkhead", at=(0, 0, 0)), "far": Frame("far", at=(900, 0, 0))}
    report = bay(part("a", CUBE), part("b", CUBE, at=(14, 0, 0)), frames=frames).check(moves=False)
    place = report.findings[0].where
    assert place is not None
    assert place.datum == "bulkhead"
    assert place.text.startswith("7 mm aft of bulkhead")


def test_what_the_model_does_not_hold_is_said() -> None:
    assert two_cubes(5).missing == ("hoses", "loom", "fasteners")
    assert bay(part("h", Cylinder(10, 50), kinds=("hose",))).check().missing == ("loom", "fasteners")


def test_passing_gaps_are_listed_up_to_list_within() -> None:
    made = [part(f"p{k}", Sphere(10), at=(22.0 * k, 0, 0)) for k in range(4)]
    assert len(bay(*made, list_within=12.0).check().findings) == 3
    assert len(bay(*made, list_within=11.0).check().findings) == 0


def test_a_pair_is_measured_once_for_all_its_copies() -> None:
    """Work count: queries within 1.3 of the pairs whose boxes lie within their own limit (design, section 8)."""
    made = Bay(
        assemble(scene(*[part(f"p{k:03}", CUBE, at=(18.0 * (k % 8), 18.0 * (k // 8), 0)) for k in range(64)]))
    )
    report = made.check(moves=False)
    assert made.session.work.gaps <= 1.3 * report.pairs.measured


@pytest.mark.parametrize(("gap", "word"), [(-0.9, ""), (0.4, ""), (-1.4, "clash"), (2.0, "tight"), (10.0, "clear")])
def test_a_part_in_another_is_joined_where_it_touches(gap: float, word: str) -> None:
    """Oracle: by head: touching within the seat is a joint, anything else is asked for air like any pair."""
    report = two_cubes(gap, parent="a")
    assert [finding.word for finding in report.findings] == ([word] if word else [])


def test_a_rule_of_its_own_still_asks_for_air_within_a_part() -> None:
    (finding,) = two_cubes(0, ruled(Rule(("a", "b"), must=2.0)), parent="a").findings
    assert (finding.word, finding.verdict) == ("touching", Verdict.FAIL)


def test_passes_on_guesses_are_counted_apart_and_their_tolerance_counts() -> None:
    """Oracle: by head: of the six pairs of four parts five rest on a guess, one of them falls short."""
    crowd = [part(name, CUBE, at=(x, 0, 0)) for name, x in (("a", 0.0), ("b", 100.0))]
    crowd += [part("c", CUBE, at=(124, 0, 0), known="guess", tolerance=(15.0,) * 3)]
    crowd += [part("d", CUBE, at=(300, 0, 0), known="guess", tolerance=(15.0,) * 3)]
    report = bay(*crowd).check(moves=False)
    assert report.guess_passes == 4
    assert [(f.subjects, f.word) for f in report.findings if f.verdict is Verdict.UNSURE] == [
        (("b", "c"), "may clash")
    ]
    only = bay(*crowd).check(["a"], moves=False)
    assert only.guess_passes == 2


@pytest.mark.parametrize(("gap", "word"), [(-0.9, ""), (-4.0, "may clash"), (2.0, "may clash")])
def test_a_part_in_another_is_joined_by_touching_it_as_drawn(gap: float, word: str) -> None:
    """Oracle: by head; a tolerance of 15 mm does not make a joint of what was never stated as one."""
    report = two_cubes(gap, ruled(default=1.0), parent="a", tolerance=(15.0,) * 3)
    assert [finding.word for finding in report.findings] == ([word] if word else [])
