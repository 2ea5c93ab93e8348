"""The table of limits for people: one block for each rule, with the pairs it governs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from packcheck.findings import Cell, Table
from packcheck.report.text.figures import length
from packcheck.report.text.headline import counted
from packcheck.report.text.lines import Line, Style, labelled, wrapped

__all__ = ["rules_lines", "rules_text"]

MOST_PARTNERS = 12
"""Partners listed for one part before the rest are counted."""


def rules_text(table: Table, units: str = "mm", width: int = 100) -> str:
    """The limits as plain text, strictest first."""
    return "".join(f"{line.text}\n" for line in rules_lines(table, units, width))


def rules_lines(table: Table, units: str, width: int) -> Iterator[Line]:
    """The limits as styled lines: each rule once, with the pairs it stands between."""
    governed: dict[tuple[Cell, ...], list[tuple[str, str]]] = defaultdict(list)
    for row in table.rows:
        governed[row[2:]].append((str(row[0]), str(row[1])))
    yield from wrapped(f"{table.title}: {counted(len(table.rows), 'pair')}", width, Style.STRONG)
    for rule in sorted(governed, key=_strictness):
        yield Line("")
        yield from _rule(dict(zip(table.columns[2:], rule, strict=True)), governed[rule], units, width)
    if table.note:
        yield Line("")
        yield from wrapped(table.note, width, Style.QUIET)


def _strictness(rule: tuple[Cell, ...]) -> tuple[float, float, str]:
    """Strictest limit first, joints last."""
    must, want = (-cell if isinstance(cell, int | float) else 0.0 for cell in rule[:2])
    return (1.0 if rule[0] is None else must), want, str(rule)


def _rule(rule: dict[str, Cell], pairs: list[tuple[str, str]], units: str, width: int) -> Iterator[Line]:
    asked = ", ".join(_figures(rule, units)) or "joined"
    first = f"{asked}: {rule['rule between']} ({counted(len(pairs), 'pair')})"
    yield from wrapped(first, width, Style.STRONG, hang="  ")
    for label, text in _reasons(rule):
        yield from labelled(label, text, width)
    yield from labelled("pairs", "; ".join(_partners(pairs)), width)


def _reasons(rule: dict[str, Cell]) -> Iterator[tuple[str, str]]:
    """Why a rule asks, and where each figure comes from: those of `want` and `moving` where that differs."""
    why, source, want, moving = (str(rule[key] or "") for key in ("why", "source", "want source", "moving source"))
    yield "why", why
    yield "source", source
    yield "want", "" if want == source else want
    between = "" if rule["moving rule"] in ("", rule["rule between"]) else f"{rule['moving rule']}: "
    yield "moving", f"{between}{moving}" if between or moving != source else ""
    yield "lowered", str(rule["lowered"] or "")
    yield "asked", str(rule["written at"] or "")


def _figures(rule: dict[str, Cell], units: str) -> Iterator[str]:
    for word in ("must", "want", "moving"):
        figure = rule[f"{word}, mm"]
        if isinstance(figure, int | float):
            yield f"{word} {length(figure, units, typed=True)}"


def _partners(pairs: list[tuple[str, str]]) -> Iterator[str]:
    """Pairs gathered by their first part: "pump with rail, tank"."""
    partners = defaultdict(list)
    for part, other in pairs:
        partners[part].append(other)
    for part, others in partners.items():
        more = f" and {len(others) - MOST_PARTNERS} more" if len(others) > MOST_PARTNERS else ""
        yield f"{part} with {', '.join(others[:MOST_PARTNERS])}{more}"
