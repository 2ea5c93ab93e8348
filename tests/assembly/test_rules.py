"""Which limit applies. Oracle throughout: the rules of the scene grammar, applied by hand."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packcheck.clearance.rows import packaged
from packcheck.clearance.rules import RuleBook
from packcheck.errors import SourceMark
from packcheck.findings import Limit
from packcheck.scene.model.scene import Clearances, Rule, Scene
from tests.assembly.scenes import BAY, part, rule, scene


def book(*rules: Rule, default: float | None = None, use_common: bool = False) -> RuleBook:
    """Two pumps and a rail with hand-made rules."""
    clearances = Clearances(default, "common" if use_common else "none", rules=rules)
    parts = part("pump", "coolant"), part("filter", "fuel"), part("rail", "structure"), part("thing")
    return RuleBook.of(scene(*parts, clearances=clearances))


def test_without_any_rule_ten_millimetres_are_asked() -> None:
    asked = book().limit("pump", "rail")
    assert asked.limit == Limit(10.0)
    assert asked.rule.source == "packcheck default"


def test_the_stated_default_is_asked_where_no_rule_applies() -> None:
    asked = book(rule("filter", "*", 30), default=12.0).limit("pump", "rail")
    assert asked.limit == Limit(12.0)
    assert asked.rule.source == "scene default"


def test_the_default_does_not_compete_with_a_rule_that_applies() -> None:
    assert book(rule("pump", "*", 4), default=12.0).limit("pump", "rail").limit == Limit(4.0)


@pytest.mark.parametrize(
    "between", [("pump", "rail"), ("rail", "pump"), ("coolant", "rail"), ("structure", "coolant"), ("*", "pump")]
)
def test_a_rule_names_parts_and_kinds_in_either_order(between: tuple[str, str]) -> None:
    asked = book(rule(*between, 33)).limit("pump", "rail")
    assert asked.limit == Limit(33.0)
    assert asked.rule.between == between


def test_a_rule_of_one_kind_does_not_reach_a_pair_without_it() -> None:
    assert book(rule("coolant", "fuel", 33)).limit("pump", "rail").limit == Limit(10.0)


def test_the_largest_must_decides_and_is_quoted() -> None:
    rules = rule("pump", "*", 8, line=3), rule("coolant", "structure", 15, line=4), rule("*", "*", 2, line=5)
    asked = book(*rules).limit("pump", "rail")
    assert asked.limit == Limit(15.0)
    assert asked.mark == SourceMark(BAY, 4, 5)


def test_the_largest_want_above_must_is_kept_from_another_rule() -> None:
    asked = book(rule("pump", "*", 20), rule("coolant", "*", 5, 60)).limit("pump", "rail")
    assert asked.limit == Limit(20.0, 60.0)
    assert asked.rule.why == "by hand; wanted between coolant and *: by hand"


def test_a_want_not_above_must_is_dropped() -> None:
    assert book(rule("pump", "*", 20), rule("coolant", "*", 5, 15)).limit("pump", "rail").limit == Limit(20.0)


def test_a_rule_of_the_scene_asks_the_same_in_motion_when_it_states_nothing() -> None:
    """Oracle: nobody said that its reason is touching, so that half of it may not be enough."""
    asked = book(rule("pump", "rail", 20)).limit("pump", "rail")
    assert asked.moving == 20.0
    assert asked.moving_rule.source == "scene rule"


def test_half_of_a_default_is_enough_in_motion_and_is_called_that() -> None:
    asked = book(default=12.0).limit("pump", "rail")
    assert asked.moving == 6.0
    assert asked.moving_rule.source == "half of the scene default"


def test_each_figure_is_told_with_the_source_of_its_own_row() -> None:
    """Oracle: rows of the packaged table by hand: a loom of an engine keeps 10, better 25, and 7 in motion."""
    parts = part("main_loom", "loom"), part("block", "engine")
    asked = RuleBook.of(scene(*parts)).limit("main_loom", "block")
    assert (asked.limit, asked.moving) == (Limit(10.0, 25.0), 7.0)
    assert asked.rule.source == "common practice"
    assert asked.rule.want_source.startswith("second-hand: ")
    assert asked.moving_rule.source.endswith("7 mm from the motion envelope")


def test_what_is_asked_in_motion_may_come_from_another_row_than_what_is_asked_at_rest() -> None:
    asked = book(rule("pump", "*", 20, moving=5), rule("coolant", "*", 15)).limit("pump", "rail")
    assert (asked.limit.must, asked.moving) == (20.0, 15.0)
    assert asked.rule.between == ("pump", "*")
    assert asked.moving_rule.between == ("coolant", "*")


def test_the_largest_moving_gap_wins() -> None:
    asked = book(rule("pump", "rail", 20, moving=4), rule("pump", "*", 15, moving=14)).limit("pump", "rail")
    assert asked.moving == 14.0


def test_a_lowered_rule_says_from_what_to_what_and_where() -> None:
    rules = rule("pump", "*", 10), rule("rail", "pump", 3, lower=True, line=31)
    asked = book(*rules).limit("pump", "rail")
    assert asked.limit == Limit(3.0)
    assert asked.lowered == asked.rule.lowered == "lowered from 10 to 3, line 31"


def test_a_rule_may_go_under_the_default() -> None:
    asked = book(rule("rail", "pump", 3, lower=True, line=31), default=10.0).limit("pump", "rail")
    assert asked.lowered == "lowered from 10 to 3, line 31"


def test_a_lowering_rule_that_is_larger_lowers_nothing() -> None:
    asked = book(rule("pump", "*", 10), rule("pump", "rail", 14, lower=True)).limit("pump", "rail")
    assert asked.limit == Limit(14.0)
    assert asked.lowered == ""


def test_lowering_the_wanted_gap_alone_is_said() -> None:
    rules = rule("pump", "*", 10, 40), rule("pump", "rail", 10, lower=True, line=7)
    assert book(*rules).limit("pump", "rail").lowered == "wanted gap lowered from 40 to none, line 7"


def test_lowering_in_an_included_file_names_the_file() -> None:
    lowering = Rule(("pump", "rail"), 3, lower=True, why="checked", mark=SourceMark("engine.yaml", 12, 3))
    assert book(lowering).limit("pump", "rail").lowered == "lowered from 10 to 3, line 12 of engine.yaml"


def test_lowering_in_an_inch_scene_is_said_in_inches() -> None:
    clearances = Clearances(25.4, "none", rules=(rule("a", "b", 12.7, lower=True, line=9),))
    inches = RuleBook.of(scene(part("a"), part("b"), clearances=clearances, units="in"))
    assert inches.limit("a", "b").lowered == "lowered from 1.000 in to 0.500 in, line 9"


def test_only_the_named_pair_is_lowered() -> None:
    rules = rule("pump", "*", 10), rule("rail", "pump", 3, lower=True)
    assert book(*rules).limit("pump", "filter").limit == Limit(10.0)


def test_lowered_pairs_are_listed_in_words() -> None:
    rules = rule("pump", "*", 10), rule("rail", "pump", 3, lower=True, line=31)
    assert book(*rules).lowered() == ("rail and pump: lowered from 10 to 3, line 31 (by hand)",)


def test_a_rule_of_the_scene_raises_a_packaged_one() -> None:
    parts = part("header", "exhaust"), part("filter", "fuel")
    clearances = Clearances(rules=(rule("header", "filter", 80),))
    asked = RuleBook.of(scene(*parts, clearances=clearances)).limit("header", "filter")
    assert asked.limit == Limit(80.0, 100.0)


def test_a_rule_of_the_scene_does_not_go_under_a_packaged_one_without_saying_so() -> None:
    parts = part("header", "exhaust"), part("filter", "fuel")
    clearances = Clearances(rules=(rule("header", "filter", 20),))
    asked = RuleBook.of(scene(*parts, clearances=clearances)).limit("header", "filter")
    assert asked.limit == Limit(50.0, 100.0)


def test_without_the_packaged_table_kinds_ask_for_nothing_of_their_own() -> None:
    parts = part("header", "exhaust"), part("filter", "fuel")
    asked = RuleBook.of(scene(*parts, clearances=Clearances(use="none"))).limit("header", "filter")
    assert asked.limit == Limit(10.0)


def test_a_part_of_two_kinds_is_held_to_the_stricter() -> None:
    parts = part("header", "exhaust"), part("hose", "coolant", "hose")
    assert RuleBook.of(scene(*parts)).limit("header", "hose").limit == Limit(50.0, 75.0)


@pytest.mark.parametrize(
    ("a", "b", "must"), [("block", "bracket", 5.0), ("rail", "tray", 5.0), ("rail", "bracket", 10.0)]
)
def test_parts_without_kinds_get_the_packaged_defaults_by_carrier(a: str, b: str, must: float) -> None:
    bay = scene(
        part("block", on="engine_frame"),
        part("bracket", on="block"),
        part("rail", on="bulkhead"),
        part("tray", on="bulkhead"),
        frames={"engine_frame": "car", "bulkhead": "car"},
    )
    assert RuleBook.of(bay).limit(a, b).limit == Limit(must)


def test_the_stated_default_replaces_the_packaged_ones_on_one_carrier_too() -> None:
    bay = scene(part("block"), part("bracket", on="block"), clearances=Clearances(default=7.0))
    assert RuleBook.of(bay).limit("block", "bracket").limit == Limit(7.0)


def test_a_kind_without_any_packaged_row_gets_the_default() -> None:
    asked = RuleBook.of(scene(part("a", "gearbox"), part("b", "mascot"))).limit("a", "b")
    assert asked.limit == Limit(10.0)


def test_a_part_that_is_not_there_is_a_key_error() -> None:
    with pytest.raises(KeyError, match="ghost"):
        book().limit("pump", "ghost")


def test_a_joint_holds_both_ways() -> None:
    joined = RuleBook.of(scene(part("pump", bolted_to=("bracket",)), part("bracket"), part("rail")))
    assert joined.joint("pump", "bracket")
    assert joined.joint("bracket", "pump")
    assert not joined.joint("pump", "rail")


NAMES = ("a", "b", "c", "d", "e")
KINDS = ("exhaust", "hot", "fuel", "engine", "body", "loom", "rotating", "hand")
sides = st.sampled_from([*NAMES, *KINDS, "*"])
gaps = st.integers(0, 60).map(float)
plain_rules = st.builds(lambda a, b, must, want: Rule((a, b), must, want), sides, sides, gaps, st.none() | gaps)
lower_rules = st.builds(
    lambda pair, must: Rule(pair, must, lower=True, why="checked"),
    st.sampled_from(list(combinations(NAMES, 2))),
    gaps,
)


@st.composite
def scenes(draw: st.DrawFn) -> Scene:
    """Five parts of random kinds on parts and frames, with random rules."""
    parts = [part("a", *draw(st.lists(st.sampled_from(KINDS), unique=True, max_size=2)))]
    for name in NAMES[1:]:
        on = draw(st.sampled_from(["car", "front", "rear", *[made.name for made in parts]]))
        parts.append(part(name, *draw(st.lists(st.sampled_from(KINDS), unique=True, max_size=2)), on=on))
    clearances = Clearances(
        draw(st.none() | gaps),
        draw(st.sampled_from(["common", "none"])),
        rules=tuple(draw(st.lists(plain_rules | lower_rules, max_size=6))),
    )
    return scene(*parts, frames={"front": "car", "rear": "front"}, clearances=clearances)


@given(scenes())
def test_no_rule_that_applies_asks_for_more_than_the_limit(made: Scene) -> None:
    """Oracle: the definition, brute force over every rule of the scene that names the two parts or their kinds."""
    rules = RuleBook.of(made)
    lowered = {frozenset(row.between) for row in made.clearances.rules if row.lower}
    for a, b in combinations(NAMES, 2):
        if frozenset((a, b)) in lowered:
            continue
        labels = [{name, "*", *made.parts[name].kinds} for name in (a, b)]
        musts = [
            row.must
            for row in made.clearances.rules
            if any(row.between[0] in one and row.between[1] in other for one, other in (labels, labels[::-1]))
        ]
        must = rules.limit(a, b).limit.must
        assert must is not None
        assert must >= max(musts, default=0.0)


@given(scenes())
def test_the_limit_does_not_depend_on_the_order_of_the_parts(made: Scene) -> None:
    rules = RuleBook.of(made)
    assert all(rules.limit(a, b) == rules.limit(b, a) for a, b in combinations(NAMES, 2))


@given(scenes())
def test_the_reach_matrix_holds_the_larger_of_must_and_want_of_every_pair(made: Scene) -> None:
    """Oracle: second method, one pair at a time."""
    rules = RuleBook.of(made)
    expected = np.zeros((len(NAMES), len(NAMES)))
    for (i, a), (j, b) in combinations(enumerate(NAMES), 2):
        limit = rules.limit(a, b).limit
        expected[i, j] = expected[j, i] = max(limit.must or 0.0, limit.want or 0.0)
    np.testing.assert_array_equal(rules.reach_matrix(NAMES), expected)


def test_the_reach_matrix_follows_the_order_of_the_names_given() -> None:
    rules = book(rule("pump", "rail", 33))
    matrix = rules.reach_matrix(["rail", "thing", "pump"])
    np.testing.assert_array_equal(matrix, [[0, 10, 33], [10, 0, 10], [33, 10, 0]])


def test_limits_are_remembered_by_kinds_not_by_pairs() -> None:
    """Oracle: count. 400 parts of two kinds on the car make three pairs of kinds, so three decisions."""
    crowd = [part(f"part_{index}", ("fuel", "body")[index % 2]) for index in range(400)]
    rules = RuleBook.of(scene(*crowd))
    asked = {id(rules.limit(a.name, b.name)) for a, b in combinations(crowd, 2)}
    assert len(asked) <= 4


def test_the_packaged_table_is_read_once() -> None:
    assert packaged() is packaged()
