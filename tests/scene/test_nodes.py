"""Strict YAML: what becomes a value, what stays text, what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.errors import SourceMark
from packcheck.scene.text.nodes import ListNode, MapNode, Number, ScalarNode, Text, compose, plain


def value_of(text: str) -> object:
    root, faults = compose(f"key: {text}\n", "bay.yaml")
    assert not faults
    assert isinstance(root, MapNode)
    return plain(root.entries["key"].node)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1", 1),
        ("1.5", 1.5),
        ("-3", -3),
        ("+3", 3),
        ("1e3", 1000),
        ("1E-3", 0.001),
        (".5", 0.5),
        ("5.", 5),
        ("010", 10),
    ],
)
def test_decimal_numbers_are_numbers(text: str, value: float) -> None:
    """Oracle: by hand."""
    number = value_of(text)
    assert isinstance(number, Number)
    assert number == value
    assert number.text == text


@pytest.mark.parametrize(
    "text",
    [
        "0x1F",
        "0b11",
        "0o17",
        "1_000",
        "1:30",
        "12:00:00",
        "2024-01-02",
        "on",
        "off",
        "yes",
        "no",
        "Yes",
        "True",
        ".inf",
        "=",
    ],
)
def test_what_other_readers_guess_at_stays_text(text: str) -> None:
    assert value_of(text) == text
    assert isinstance(value_of(text), Text)


@pytest.mark.parametrize(
    ("text", "value"), [("true", True), ("false", False), ("null", None), ("~", None), ("", None)]
)
def test_words_with_a_meaning(text: str, value: object) -> None:
    assert value_of(text) is value


@pytest.mark.parametrize("text", ["'12'", '"12"', "'true'", '"null"'])
def test_quotes_make_text(text: str) -> None:
    assert value_of(text) == text[1:-1]


def test_keys_are_text_whatever_they_look_like() -> None:
    root, _ = compose("1: a\ntrue: b\nno: c\n1.50: d\n", "bay.yaml")
    assert root is not None
    assert plain(root) == {"1": "a", "true": "b", "no": "c", "1.50": "d"}


def test_every_value_knows_its_place() -> None:
    root, _ = compose("a:\n  - [7, x]\n", "bay.yaml")
    assert isinstance(root, MapNode)
    outer = root.entries["a"].node
    assert isinstance(outer, ListNode)
    inner = outer.items[0]
    assert isinstance(inner, ListNode)
    seven, word = inner.items
    assert isinstance(seven, ScalarNode)
    assert (seven.mark, word.mark) == (SourceMark("bay.yaml", 2, 6), SourceMark("bay.yaml", 2, 9))
    assert isinstance(seven.value, Number)
    assert seven.value.mark == seven.mark


@pytest.mark.parametrize(
    ("text", "inset"), [("a: b", 0), ("a: 'b'", 1), ('a: "b"', 1), ("a: |\n  b", None), ("a: b\n  c", None)]
)
def test_inset_leads_to_the_first_character(text: str, inset: int | None) -> None:
    root, _ = compose(text, "bay.yaml")
    assert isinstance(root, MapNode)
    node = root.entries["a"].node
    assert isinstance(node, ScalarNode)
    assert node.inset == inset


def test_key_written_twice_names_both_lines_and_keeps_the_first() -> None:
    root, (fault,) = compose("a: 1\nb: 2\na: 3\n", "bay.yaml")
    assert root is not None
    assert plain(root) == {"a": 1, "b": 2}
    assert str(fault.mark) == "bay.yaml:3:1"
    assert "first in line 1" in fault.what


def test_alias_bomb_is_refused_without_being_unfolded() -> None:
    lines = ["a0: &a0 [x]"] + [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    _, faults = compose("\n".join(lines), "bay.yaml")
    assert len(faults) == 12 + 9 * 11


def test_list_that_holds_itself_is_refused() -> None:
    root, faults = compose("a: &a [1, *a]\n", "bay.yaml")
    assert root is not None
    assert plain(root) == {"a": [1, None]}
    assert len(faults) == 2


@pytest.mark.parametrize("depth", [21, 900, 5000])
def test_deep_nesting_stops_the_reading(depth: int) -> None:
    root, faults = compose("[" * depth, "bay.yaml")
    assert root is None
    assert len(faults) == 1


def test_twenty_levels_are_allowed() -> None:
    root, faults = compose("[" * 20 + "]" * 20, "bay.yaml")
    assert root is not None
    assert not faults


def test_too_many_values_stop_the_reading() -> None:
    root, (fault,) = compose("[" + "1," * 200_001 + "]", "bay.yaml")
    assert root is None
    assert "more than 200000 values" in fault.what


def test_faults_before_a_syntax_error_are_told_with_it() -> None:
    _, faults = compose("a: 1\na: 2\nb: [\n", "bay.yaml")
    assert [fault.mark.line for fault in faults if fault.mark] == [2, 4]


def test_tab_is_called_a_tab() -> None:
    _, (fault,) = compose("a:\n\tb: 1\n", "bay.yaml")
    assert "no tabs" in fault.mend


@settings(deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_a_tree_or_faults(text: str) -> None:
    root, faults = compose(text, "bay.yaml")
    assert root is None or plain(root) is not ...
    assert all(fault.what for fault in faults)
