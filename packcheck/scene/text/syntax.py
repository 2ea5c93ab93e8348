"""What is wrong where the YAML reader stopped, in plain words: the lines themselves say more than its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final

import yaml

from packcheck.errors import Fault, SourceMark

__all__ = ["syntax_fault"]

_GLUED = re.compile(r"(?:^\s*(?:- +)?|[{,]\s*)([A-Za-z_]\w*):(?=[^\s:/\\,}\]])([^\s,{}]*)")
_LONE_WORD = re.compile(r"\s*(\w+)\s*(?:#.*)?")
_LONE_KEY = re.compile(r"\s*(?:- +)?[\w ]+")
_ESCAPES: Final = ("unknown escape", "hexdecimal", "hexadecimal")
_ENDLESS: Final = ("unexpected end of stream", "unexpected document indicator")


def syntax_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    """The fault of a text that is no YAML.

    Parameters
    ----------
    error : yaml.YAMLError
        What the reader raised.
    text, file : str
        What it read, and the name of that for marks.
    """
    stop, begun = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    problem = str(getattr(error, "problem", "") or error)
    if stop is None:
        return Fault(SourceMark(file), f"cannot be read as YAML ({problem})")
    place = _Stop(file, text.splitlines(), stop.line, stop.column, begun, problem)
    return next((fault for look in _LOOKS if (fault := look(place))), _unclear(place))


@dataclass(frozen=True, slots=True)
class _Stop:
    """Where the reader stopped: line and column from 0, and `begun`, the mark of what it was in the midst of."""

    file: str
    lines: list[str]
    line: int
    column: int
    begun: Any
    problem: str

    @property
    def written(self) -> str:
        return self.lines[self.line] if self.line < len(self.lines) else ""

    @property
    def before(self) -> str:
        return self.written[: self.column]

    @property
    def sign(self) -> str:
        return self.written[self.column : self.column + 1]

    @property
    def indent(self) -> int:
        return len(self.written) - len(self.written.lstrip())

    @property
    def since(self) -> str:
        """Where the thing began, when that is another line."""
        return f" in line {self.begun.line + 1}" if self.begun and self.begun.line != self.line else ""

    def mark(self, line: int | None = None, column: int | None = None) -> SourceMark:
        line, column = self.line if line is None else line, self.column if column is None else column
        return SourceMark(self.file, line + 1, column + 1)

    def above(self) -> Iterator[int]:
        """The lines above that say something, nearest first."""
        for line in range(min(self.line, len(self.lines)) - 1, -1, -1):
            if self.lines[line].strip() and not self.lines[line].lstrip().startswith("#"):
                yield line


def _tab(stop: _Stop) -> Fault | None:
    if "\t" not in stop.written[: min(stop.column + 1, stop.indent + 1)]:
        return None
    return Fault(stop.mark(), "a tab stands where only blanks may", mend="indent with blanks, YAML takes no tabs")


def _escape(stop: _Stop) -> Fault | None:
    if not any(sort in stop.problem for sort in _ESCAPES):
        return None
    what = "a backslash in double quotes begins a special sign, and this one is not known"
    return Fault(stop.mark(), what, mend="use / in paths, or single quotes")


def _endless(stop: _Stop) -> Fault | None:
    if not stop.begun or not any(sort in stop.problem for sort in _ENDLESS):
        return None
    mark = stop.mark(stop.begun.line, stop.begun.column)
    return Fault(mark, "the quote opened here is never closed", mend="put the closing quote behind the text")


def _glued(stop: _Stop) -> Fault | None:
    """``kind:fuel`` in this line, or in the one above that the reader took it together with."""
    nearest = [stop.line, *list(stop.above())[:1]]
    for line in (line for line in nearest if line < len(stop.lines)):
        if found := _GLUED.search(stop.lines[line]):
            key, value = found.groups()
            what = f"a blank is needed after the colon of {key!r}"
            why = "without it, key and value are read as one word"
            return Fault(
                stop.mark(line, found.end(1)), what, why, f"write {key}: {value if value.isalnum() else '...'}"
            )
    return None


def _bracket(stop: _Stop) -> Fault | None:
    for closing, opening in ("]", "["), ("}", "{"):
        if f"',' or '{closing}'" in stop.problem:
            what = f"a comma or {closing} is missing here, behind the {opening}{stop.since}"
            return Fault(stop.mark(), what, mend=f"close it with {closing}, and put commas between the values")
    if stop.sign and stop.sign in "]}":
        return Fault(stop.mark(), f"there is a {stop.sign} too many", mend="remove it, or open its bracket before")
    return None


def _behind_quotes(stop: _Stop) -> Fault | None:
    if not stop.before.rstrip().endswith(("'", '"')):
        return None
    mend = "put all of the text in quotes of the other sort, or double a ' inside '...'"
    return Fault(stop.mark(), "the text goes on behind its closing quote", mend=mend)


def _no_colon(stop: _Stop) -> Fault | None:
    """A key without its colon, in the line above one that is indented under it."""
    for line in list(stop.above())[:1]:
        found = _LONE_WORD.fullmatch(stop.lines[line])
        if found and _LONE_KEY.fullmatch(stop.before):
            word = found[1]
            return Fault(stop.mark(line, found.start(1)), f"{word!r} has no colon", mend=f"write {word}:")
    return None


def _indentation(stop: _Stop) -> Fault | None:
    if not stop.sign or not (stop.indent == stop.column or _LONE_KEY.fullmatch(stop.before)):
        return None
    what = "the indentation does not fit the lines above"
    why = "keys of one thing start in one column"
    return Fault(stop.mark(column=stop.indent), what, why, _column_mend(stop))


def _column_mend(stop: _Stop) -> str:
    """The column of a line above that was most likely meant: the nearest, of two as near the deeper."""
    open_columns: dict[int, int] = {}
    for line in stop.above():
        column = len(stop.lines[line]) - len(stop.lines[line].lstrip())
        if not open_columns or column < min(open_columns):
            open_columns[column] = line
    if not open_columns:
        return ""
    meant = min(open_columns, key=lambda column: (abs(column - stop.indent), -column))
    return f"let it start in column {meant + 1}, like line {open_columns[meant] + 1}"


def _second_colon(stop: _Stop) -> Fault | None:
    if stop.sign != ":":
        return None
    mend = "begin each key on a line of its own; put text that holds ': ' in quotes"
    return Fault(stop.mark(), "a second key stands in one line", mend=mend)


def _unclear(stop: _Stop) -> Fault:
    mend = "look at indentation, brackets and quotes here and just above; put text that holds ': ' in quotes"
    if stop.sign in ("@", "`", "%"):
        mend = f"put text that begins with {stop.sign} in quotes"
    begun = f"; begun{stop.since}" if stop.since else ""
    return Fault(stop.mark(), f"cannot be read as YAML here ({stop.problem}{begun})", mend=mend)


_LOOKS: Final[tuple[Callable[[_Stop], Fault | None], ...]] = (
    _tab,
    _escape,
    _endless,
    _glued,
    _bracket,
    _behind_quotes,
    _no_colon,
    _indentation,
    _second_colon,
)
"""Surest first."""
