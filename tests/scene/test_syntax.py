"""Where the YAML reader stops, the fault names the slip in plain words."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.errors import Fault
from packcheck.scene.text.nodes import compose
from packcheck.scene.text.syntax import syntax_fault


def fault_of(text: str) -> Fault:
    root, (fault,) = compose(text, "bay.yaml")
    assert root is None
    return fault


def told(text: str) -> tuple[str, str]:
    """Where, and what would mend it."""
    fault = fault_of(text)
    return str(fault.mark).removeprefix("bay.yaml:"), fault.mend


@pytest.mark.parametrize(
    ("text", "place", "column"),
    [
        ("parts:\n  pump:\n    kind: fuel\n   box: [1]\n", "4:4", "column 5, like line 3"),
        ("parts:\n  pump:\n    kind: fuel\n      box: [1]\n", "4:7", "column 5, like line 3"),
        ("parts:\n  pump:\n    kind: fuel\n\n    # a remark\n     box: [1]\n", "6:6", "column 5, like line 3"),
        ("parts:\n  pump:\n    kind: fuel\n sump: {}\n", "4:2", "column 3, like line 2"),
        ("title: bay\n parts: {}\n", "2:2", "column 1, like line 1"),
        ("rules:\n    - {gap: 3}\n   - {gap: 4}\n", "3:4", "column 5, like line 2"),
    ],
)
def test_odd_indentation_names_the_column_that_was_meant(text: str, place: str, column: str) -> None:
    assert told(text) == (place, f"let it start in {column}")
    assert fault_of(text).what == "the indentation does not fit the lines above"
    assert fault_of(text).why == "keys of one thing start in one column"


@pytest.mark.parametrize(
    ("text", "place", "mend"),
    [
        ("pump:\n  kind:fuel\n  box: [1]\n", "2:7", "write kind: fuel"),
        ("pump:\n  box: [1]\n  kind:fuel\n", "3:7", "write kind: fuel"),
        ("title:bay\nparts: {}\n", "1:6", "write title: bay"),
        ("pump: {box:[1, 1, 1]}\n", "1:11", "write box: ..."),
    ],
)
def test_colon_without_a_blank_is_pointed_at(text: str, place: str, mend: str) -> None:
    assert told(text) == (place, mend)
    assert "a blank is needed after the colon of" in fault_of(text).what


@pytest.mark.parametrize("path", [r"C:\scans\pump.stl", r"C:\users\pump.stl", r"C:\x\pump.stl"])
def test_backslash_in_double_quotes_is_told_of_slashes_and_single_quotes(path: str) -> None:
    assert fault_of(f'file: "{path}"\n').mend == "use / in paths, or single quotes"


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ("box: [1, 2\nat: [0]\n", "2:3", "a comma or ] is missing here, behind the [ in line 1"),
        ("box: [1, 2}\n", "1:11", "a comma or ] is missing here, behind the ["),
        ("pump: {box: [1]\nsump: {}\n", "2:1", "a comma or } is missing here, behind the { in line 1"),
        ("box: [1]]\n", "1:9", "there is a ] too many"),
        ("title: 'driver's side'\n", "1:16", "the text goes on behind its closing quote"),
        ('parts: {}\ntitle: "bay\n', "2:8", "the quote opened here is never closed"),
        ("parts\n  pump: {}\n", "1:1", "'parts' has no colon"),
        ("title: bay: two\n", "1:11", "a second key stands in one line"),
        ("parts:\n\tpump: {}\n", "2:1", "a tab stands where only blanks may"),
    ],
)
def test_slip_is_named_at_its_place(text: str, place: str, what: str) -> None:
    assert (str(fault_of(text).mark), fault_of(text).what) == (f"bay.yaml:{place}", what)


@pytest.mark.parametrize("sign", ["@", "`", "%"])
def test_text_that_begins_with_a_sign_of_yaml_wants_quotes(sign: str) -> None:
    assert fault_of(f"title: {sign}home\n").mend == f"put text that begins with {sign} in quotes"


def test_error_without_a_place_is_that_of_the_file() -> None:
    fault = syntax_fault(yaml.YAMLError("odd"), "", "bay.yaml")
    assert str(fault) == "bay.yaml: cannot be read as YAML (odd)"


@given(
    st.lists(st.sampled_from(["  ", "a", ": ", ":", "[", "}", "'", '"', "\\", "\t", "\n", "- ", "#"]), max_size=25)
)
@settings(max_examples=300, deadline=None)
def test_every_slip_has_words_a_place_in_the_text_and_a_mend(pieces: list[str]) -> None:
    text = "".join(pieces)
    root, faults = compose(text, "bay.yaml")
    for fault in faults if root is None else ():
        assert fault.what
        assert fault.mark is not None
        assert 1 <= fault.mark.line <= text.count("\n") + 2
