"""A report as one HTML page that needs nothing else: no network, and no script for anything that must be read.

Pictures and tables are in the page; its script only adds the model that can be turned, and tables that sort. Every
text of the scene is escaped. The page forbids itself to load anything.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from itertools import count
from typing import TYPE_CHECKING, Any, Final

from packcheck.findings import Finding, Report, Table, Verdict
from packcheck.report.page_compared import SideBySide, compared_section
from packcheck.report.page_model import model_data, packed, thinned
from packcheck.report.pictures.eye import Onlooker
from packcheck.report.pictures.finding import Figure, figure
from packcheck.report.pictures.marks import hue
from packcheck.report.pictures.overview import overview
from packcheck.report.pictures.svg import hexed
from packcheck.report.text.as_text import account, details, source_of_must
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.headline import headline
from packcheck.report.text.measured import Measured
from packcheck.report.text.printable import printable
from packcheck.report.text.tables import cell_text
from packcheck.surfaces import Model

if TYPE_CHECKING:
    import jinja2
    from markupsafe import Markup

__all__ = ["MOST_CARDS", "MOST_PICTURES", "Card", "as_page"]

MOST_CARDS: Final = 200
"""Findings with a card of their own, worst first; all others are rows of a table."""

MOST_PICTURES: Final = 40
"""Cards with pictures: as many as moves are sought for."""

MOST_LETTERS: Final = 18
"""Letters of a word in a table that are never torn apart."""

WIDE: Final = 100_000  # columns: no line is broken here, the page does that

LABELS: Final = {
    "why": "Rule",
    "source": "Source",
    "wanted": "Source of what is wanted",
    "limit": "Lowered",
    "looks": "Looks joined",
    "no move": "No move",
    "asked": "Written at",
}

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Card:
    """A finding as the page shows it: its number in the report, facts with their labels, pictures."""

    number: int
    finding: Finding
    facts: tuple[tuple[str, str], ...]
    figure: Figure | None = None


def as_page(
    report: Report,
    model: Model,
    *,
    version: str,
    pictures: int = MOST_PICTURES,
    progress: Progress | None = None,
    side_by_side: SideBySide | None = None,
) -> str:
    """The report as HTML; `pictures` cards, worst first, have pictures, and `progress` hears how many are drawn.

    `side_by_side` are arrangements to be shown beside each other in a section of their own. Same report, model and
    arrangements, same text on one version of the libraries.
    """
    findings = sorted(report.findings, key=lambda finding: finding.sort_key)
    onlooker = Onlooker(model)
    surfaces, coarser = thinned(model.surfaces)
    light = replace(model, surfaces=tuple(surfaces))
    carded = [(k, f) for k, f in enumerate(findings, 1) if f.verdict is not Verdict.PASS][:MOST_CARDS]
    drawn = _figures(carded[:pictures], model, onlooker, report.units, progress)
    cards = [Card(k, f, _facts(f, report.units), drawn.get(k)) for k, f in carded]
    return _template().render(
        report=report,
        version=version,
        headline=headline(report),
        cards=cards,
        rows=_rows(findings[len(carded) :], len(carded) + 1, report.units),
        overview=overview(findings, model, onlooker, report.units),
        compared=None if side_by_side is None else compared_section(side_by_side),
        tables=[_table(table) for table in report.tables],
        account=[line.text for line in account(report, WIDE)],
        caution=CAUTION,
        sources=model.sources,
        axes=model.axes,
        has_model=bool(model.surfaces),
        coarser=coarser,
        data=model_data(findings, light, onlooker, report.units),
        mesh=packed(surfaces),
        stripes={verdict.value: hexed(hue(verdict)) for verdict in Verdict},
        words=_verdict_words(),
        **_assets(),
    )


def _figures(
    carded: Sequence[tuple[int, Finding]], model: Model, onlooker: Onlooker, units: str, progress: Progress | None
) -> dict[int, Figure | None]:
    drawn: dict[int, Figure | None] = {}
    for done, (number, finding) in enumerate(carded):
        if progress is not None:
            progress(done, len(carded))
        drawn[number] = figure(finding, model, onlooker, units)
    return drawn


def _facts(finding: Finding, units: str) -> tuple[tuple[str, str], ...]:
    """What a card says, label by label, in the words of the text report."""
    measured = Measured(finding, units)
    number = measured.number() or finding.skipped
    gap = "Gap" if measured.of_gap else "Found"
    facts = [
        (gap, number.removeprefix("gap ")),
        ("Asked", measured.needed()),
        _shortfall(measured.shortfall()),
    ]
    facts += [(LABELS.get(label, label.capitalize()), text) for label, text in details(finding, units)]
    return tuple((label, printable(text)) for label, text in facts if text)


def _shortfall(said: str) -> tuple[str, str]:
    """ "short by 3 mm" as a label and a text."""
    label = next((label for label in ("short by", "over by") if said.startswith(label)), "")
    return (label.capitalize(), said.removeprefix(label).strip()) if label else ("Margin", said)


def _rows(findings: Sequence[Finding], first: int, units: str) -> Iterator[dict[str, Any]]:
    """The findings without a card, a row each."""
    for number, finding in zip(count(first), findings, strict=False):
        yield {
            "number": number,
            "finding": finding,
            "measure": Measured(finding, units).line() or printable(finding.skipped),
            "source": printable(source_of_must(finding)),
            "value": "" if finding.value is None else f"{finding.value:.3f}",
            "where": "" if finding.where is None else printable(finding.where.text),
        }


def _table(table: Table) -> dict[str, Any]:
    return {
        "title": printable(table.title),
        "columns": [printable(column) for column in table.columns],
        "rows": [[cell_text(cell) for cell in row] for row in table.rows],
        "note": printable(table.note),
    }


def _verdict_words() -> dict[str, str]:
    return {
        "fail": "falls short",
        "unsure": "undecided",
        "not_checked": "not checked",
        "close": "close",
        "pass": "passes",
    }


def _broken(text: str) -> Markup:
    """Text that may be broken after an underscore or a slash."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"([_/])(?=.)", r"\1<wbr>", str(escape(text))))


def _long(text: str) -> Markup:
    """The attribute of a cell with a word in it that would push others off the page."""
    from markupsafe import Markup

    longest = max(map(len, re.split(r"[\s_/]", text)), default=0)
    return Markup(' class="long"') if longest > MOST_LETTERS else Markup("")


@cache
def _template() -> jinja2.Template:
    import jinja2

    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {"printable": printable, "broken": _broken, "long": _long}
    return environment.from_string(_asset("template.html"))


@cache
def _assets() -> dict[str, str]:
    """The page's own style and script, and the licence of the library in it."""
    return {
        "style": _asset("style.css"),
        "script": _asset("built/page.js"),
        "licence": _asset("built/three-LICENSE.txt"),
        "library_version": _asset("built/three-VERSION.txt").strip(),
    }


def _asset(name: str) -> str:
    return (files("packcheck.report") / "page" / name).read_text(encoding="utf-8")
