"""A text report as lines, each with one style; how a style looks is the terminal's affair."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from packcheck.report.text.printable import printable

__all__ = ["LABEL_WIDTH", "Line", "Style", "labelled", "wrapped"]

LABEL_WIDTH: Final = 8

_BOUND: Final = re.compile(
    r"(?<=\d) (?=[a-z])|(?<= in) (?=\(\d)"
)  # between a figure and its unit, "in" and "(3 mm)"
_GLUE: Final = "\0"  # holds two words together while lines are broken; printable text has none


class Style(StrEnum):
    """What a line is, not how it looks."""

    PLAIN = "plain"
    STRONG = "strong"
    SHORT = "short"  # something falls short
    OPEN = "open"  # something is undecided, or close
    QUIET = "quiet"


@dataclass(frozen=True, slots=True)
class Line:
    text: str
    style: Style = Style.PLAIN


def wrapped(
    text: str, width: int, style: Style = Style.PLAIN, *, indent: str = "", hang: str = ""
) -> Iterator[Line]:
    """`text`, escaped and broken between words to `width`. Words longer than a line stay whole, to be copied, and
    a figure stays with its unit."""
    broken = textwrap.wrap(
        _BOUND.sub(_GLUE, printable(text)),
        width,
        initial_indent=indent,
        subsequent_indent=hang or indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return (Line(line.replace(_GLUE, " "), style) for line in broken)


def labelled(label: str, text: str, width: int, style: Style = Style.PLAIN) -> Iterator[Line]:
    """A detail under a finding: its label, then the text, broken under itself. Nothing for an empty text."""
    lead = f"  {label:{LABEL_WIDTH}}"
    return wrapped(text, width, style, indent=lead, hang=" " * len(lead)) if text else iter(())
