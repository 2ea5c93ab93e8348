"""Comma-separated text as rows of cells that know their place. Semicolons and tabs separate as well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from packcheck.errors import Fault, SourceMark

__all__ = ["Cell", "cells_of"]

SEPARATORS: Final = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell, without blanks around it, and where it begins."""

    text: str
    mark: SourceMark


def cells_of(text: str, file: str) -> tuple[list[list[Cell]], list[Fault]]:
    """The rows of a table that hold anything, without those that begin with #, and the faults of its form.

    A quoted cell may hold the separator, and a quote written twice. The separator is the one that the first such
    row has most of.
    """
    rows: list[list[Cell]] = []
    faults: list[Fault] = []
    separator = ""
    for number, line in enumerate(text.replace("\r", "").split("\n"), start=1):
        if not line.strip(" \t,;") or line.lstrip().startswith(("#", '"#')):
            continue
        separator = separator or max(SEPARATORS, key=line.count)
        cells, unclosed = _split(line, separator, file, number)
        rows.append(cells)
        if unclosed:
            what = "a quote is opened and not closed in its line"
            faults.append(Fault(cells[-1].mark, what, mend="close it, or write a quote within quotes twice"))
    return rows, faults


def _split(line: str, separator: str, file: str, number: int) -> tuple[list[Cell], bool]:
    """The cells of one line, and whether the last of them lacks its closing quote."""
    cells: list[Cell] = []
    at, quoted = 0, False
    while True:
        while line[at : at + 1] == " ":
            at += 1
        start, text, quoted = _cell(line, at, separator)
        inset = 1 if line[at : at + 1] == '"' else 0
        cells.append(Cell(text.strip(), SourceMark(file, number, at + inset + 1)))
        at = start
        if at >= len(line):
            return cells, quoted
        at += 1  # past the separator; behind it there is a cell, be it empty


def _cell(line: str, at: int, separator: str) -> tuple[int, str, bool]:
    """Where the cell that begins at a place ends, what it holds, and whether its quote stays open."""
    if line[at : at + 1] != '"':
        end = line.find(separator, at)
        end = len(line) if end < 0 else end
        return end, line[at:end], False
    text, at = "", at + 1
    while at < len(line):
        if line[at] == '"' and line[at + 1 : at + 2] != '"':
            end = line.find(separator, at)
            return (len(line) if end < 0 else end), text, False
        at += line[at] == '"'
        text += line[at]
        at += 1
    return at, text, True
