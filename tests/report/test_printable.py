"""Text made fit to print."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packcheck.report.text.printable import printable


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("fuel pump", "fuel pump"),
        ("Kühlerschlauch Ø 38", "Kühlerschlauch Ø 38"),
        ("a\x1b[31mb", r"a\x1b[31mb"),
        ("a\nb\tc", r"a\nb\tc"),
        ("a\u202eb", r"a\u202eb"),
        ("a\ud800b", r"a\ud800b"),
        ("a\u2028b", r"a\u2028b"),
    ],
)
def test_only_what_cannot_be_seen_is_written_out(text: str, expected: str) -> None:
    assert printable(text) == expected


@given(st.text(st.characters(codec=None)))
def test_nothing_printed_is_a_control_character(text: str) -> None:
    """Oracle: the Unicode categories of control, format, surrogate and separator characters."""
    shown = {unicodedata.category(character) for character in printable(text)}
    assert not shown & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
